/** Local time for display. Instants are milliseconds since the Unix epoch; every zone is an IANA name, never the browser's own. */

export const MINUTE = 60_000;
export const HOUR = 60 * MINUTE;
const QUARTER = 15 * MINUTE;

const formats = new Map<string, Intl.DateTimeFormat>();
const offsets = new Map<string, number>();

function format(zone: string): Intl.DateTimeFormat {
  let known = formats.get(zone);
  if (!known) {
    known = new Intl.DateTimeFormat("en-GB", {
      timeZone: zone,
      hourCycle: "h23",
      year: "numeric",
      month: "2-digit",
      day: "2-digit",
      hour: "2-digit",
      minute: "2-digit",
      second: "2-digit",
    });
    formats.set(zone, known);
  }
  return known;
}

/** How far the zone's clocks are ahead of UTC, in milliseconds. Offsets change on quarter hours, so they are kept by quarter hour. */
export function offsetMs(zone: string, ms: number): number {
  const quarter = Math.floor(ms / QUARTER);
  const key = `${zone} ${quarter}`;
  let known = offsets.get(key);
  if (known === undefined) {
    const at = quarter * QUARTER;
    const parts: Record<string, number> = {};
    for (const { type, value } of format(zone).formatToParts(at)) parts[type] = Number(value);
    known = Date.UTC(parts.year!, parts.month! - 1, parts.day!, parts.hour!, parts.minute!, parts.second!) - at;
    if (offsets.size > 20_000) offsets.clear();
    offsets.set(key, known);
  }
  return known;
}

/** The wall clock as if it were UTC: read its fields with the getUTC methods. */
function wall(zone: string, ms: number): Date {
  return new Date(ms + offsetMs(zone, ms));
}

const two = (n: number): string => String(n).padStart(2, "0");
const WEEKDAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/** HH:MM as the zone's clock shows it and as it is typed: the hour that comes twice looks the same twice. */
export function clockFace(zone: string, ms: number): string {
  const at = wall(zone, ms);
  return `${two(at.getUTCHours())}:${two(at.getUTCMinutes())}`;
}

/** "+01:00" */
function offsetText(zone: string, ms: number): string {
  const offset = Math.round(offsetMs(zone, ms) / MINUTE);
  const minutes = Math.abs(offset);
  return `${offset < 0 ? "-" : "+"}${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
}

/** A change of the clocks concerns the shift on either side of it. */
const SHIFT = 8 * HOUR;

/** HH:MM on the zone's clock; with its offset where the clocks change within a shift of it, as paper and print have it (`solver/local-clock.ts`). */
export function hhmm(zone: string, ms: number): string {
  const isNearChange = offsetMs(zone, ms - SHIFT) !== offsetMs(zone, ms + SHIFT);
  return `${clockFace(zone, ms)}${isNearChange ? ` ${offsetText(zone, ms)}` : ""}`;
}

/** "04:10–04:35"; a stay over a change has both offsets, however long it is. */
export function hhmmSpan(zone: string, { fromMs, toMs }: Span, joint = "–"): string {
  const isOver = offsetMs(zone, fromMs) !== offsetMs(zone, toMs);
  return [fromMs, toMs]
    .map((ms) => (isOver ? `${clockFace(zone, ms)} ${offsetText(zone, ms)}` : hhmm(zone, ms)))
    .join(joint);
}

/** "Fri 27 Nov" on the zone's calendar. */
export function dayText(zone: string, ms: number): string {
  const at = wall(zone, ms);
  return `${WEEKDAYS[at.getUTCDay()]} ${at.getUTCDate()} ${MONTHS[at.getUTCMonth()]}`;
}

/** "Fri 04:10"; for lists that cross midnight. */
export function dayTime(zone: string, ms: number): string {
  return `${WEEKDAYS[wall(zone, ms).getUTCDay()]} ${hhmm(zone, ms)}`;
}

/** YYYY-MM-DDTHH:MM on the zone's clock, as date fields of a form want it. */
export function wallText(zone: string, ms: number): string {
  const at = wall(zone, ms);
  return `${at.getUTCFullYear()}-${two(at.getUTCMonth() + 1)}-${two(at.getUTCDate())}T${clockFace(zone, ms)}`;
}

/** RFC 3339 with the zone's offset, to the minute, as the documents want instants. */
export function instantText(zone: string, ms: number): string {
  return `${wallText(zone, ms)}:00${offsetText(zone, ms)}`;
}

/** Minutes after local midnight. */
function minuteOfDay(zone: string, ms: number): number {
  const at = wall(zone, ms);
  return at.getUTCHours() * 60 + at.getUTCMinutes();
}

export interface Tick {
  readonly ms: number;
  readonly text: string;
  readonly isMidnight: boolean;
}

/** Distances between ticks, minutes. */
export const TICK_STEPS = [1, 5, 10, 15, 30, 60, 120, 180, 360] as const;

/**
 * Instants in a span at which the zone's clock shows a multiple of the step. On a night when the clocks change, hours that come twice have two
 * ticks and skipped ones none.
 */
export function ticks(zone: string, fromMs: number, toMs: number, stepMinutes: number): Tick[] {
  const found: Tick[] = [];
  const stride = Math.min(stepMinutes, 15) * MINUTE;
  for (let ms = Math.ceil(fromMs / stride) * stride; ms <= toMs; ms += stride) {
    const minute = minuteOfDay(zone, ms);
    if (minute % stepMinutes === 0) found.push({ ms, text: clockFace(zone, ms), isMidnight: minute === 0 });
  }
  return found;
}

export interface Span {
  readonly fromMs: number;
  readonly toMs: number;
}

const NIGHT_FROM = 21 * 60;
const NIGHT_TO = 6 * 60;

/** The parts of a span that are night, 21:00 to 06:00 on the zone's clock. */
export function nights(zone: string, fromMs: number, toMs: number): Span[] {
  const found: Span[] = [];
  let start: number | undefined;
  const first = Math.floor(fromMs / QUARTER) * QUARTER;
  for (let ms = first; ms <= toMs + QUARTER; ms += QUARTER) {
    const minute = minuteOfDay(zone, ms);
    const isNight = ms <= toMs && (minute >= NIGHT_FROM || minute < NIGHT_TO);
    if (isNight && start === undefined) start = Math.max(ms, fromMs);
    if (!isNight && start !== undefined) {
      found.push({ fromMs: start, toMs: Math.min(ms, toMs) });
      start = undefined;
    }
  }
  return found.filter((span) => span.toMs > span.fromMs);
}

export interface ClockChange {
  readonly ms: number;
  /** Minutes that the clocks go forward; negative: back. */
  readonly minutes: number;
}

/** When the zone's clocks change inside a span. */
export function clockChanges(zone: string, fromMs: number, toMs: number): ClockChange[] {
  const found: ClockChange[] = [];
  for (let ms = Math.ceil(fromMs / QUARTER) * QUARTER; ms < toMs; ms += QUARTER) {
    const change = offsetMs(zone, ms) - offsetMs(zone, ms - QUARTER);
    if (change !== 0) found.push({ ms, minutes: Math.round(change / MINUTE) });
  }
  return found;
}

/** The instants in a span at which the zone's clock shows HH:MM: none when it is skipped or outside, two when it comes twice or on two days. */
export function instantsOf(zone: string, time: string, fromMs: number, toMs: number): number[] {
  const match = /^([01]?\d|2[0-3])[:.]?([0-5]\d)$/.exec(time.trim());
  if (!match) return [];
  const wanted = Number(match[1]) * 60 + Number(match[2]);
  const found: number[] = [];
  for (let quarter = Math.floor(fromMs / QUARTER) * QUARTER; quarter <= toMs; quarter += QUARTER) {
    const ms = quarter + ((((wanted - minuteOfDay(zone, quarter)) % 1440) + 1440) % 1440) * MINUTE;
    if (ms < quarter + QUARTER && ms >= fromMs && ms <= toMs) found.push(ms);
  }
  return found;
}

/** The one of those instants nearest to another. */
export function nearestInstant(zone: string, time: string, nearMs: number, span: Span): number | undefined {
  const found = instantsOf(zone, time, span.fromMs, span.toMs);
  return found.sort((a, b) => Math.abs(a - nearMs) - Math.abs(b - nearMs))[0];
}

/** "2 h 05 min", "45 min". */
export function duration(ms: number): string {
  const minutes = Math.round(Math.abs(ms) / MINUTE);
  if (minutes < 60) return `${minutes} min`;
  return `${Math.floor(minutes / 60)} h${minutes % 60 === 0 ? "" : ` ${two(minutes % 60)} min`}`;
}

export const msOf = (instant: string): number => Date.parse(instant);
