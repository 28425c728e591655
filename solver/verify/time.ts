/** The verifier's own reading of time: RFC 3339 by hand, wall clocks by Intl. Minutes and seconds since the Unix epoch. */

const INSTANT = /^(\d{4})-(\d\d)-(\d\d)T(\d\d):(\d\d)(?::(\d\d))?(Z|[+-]\d\d:\d\d)?$/;

export interface ReadInstant {
  /** Wall clock as if it were UTC, seconds. */
  readonly wallSeconds: number;
  /** Offset in seconds, null when none is written. */
  readonly offset: number | null;
}

const readings = new Map<string, ReadInstant | null>();
const MOST_READINGS = 50_000;

/** The same few instants are read over and over. */
export function readInstant(text: string): ReadInstant | null {
  let read = readings.get(text);
  if (read === undefined) {
    read = readAnew(text);
    if (readings.size >= MOST_READINGS) readings.clear();
    readings.set(text, read);
  }
  return read;
}

function readAnew(text: string): ReadInstant | null {
  const match = INSTANT.exec(text);
  if (!match) return null;
  const [, year, month, day, hour, minute, second = "0", zone] = match;
  const wallSeconds =
    Date.UTC(Number(year), Number(month) - 1, Number(day), Number(hour), Number(minute), Number(second)) / 1000;
  if (zone === undefined) return { wallSeconds, offset: null };
  if (zone === "Z") return { wallSeconds, offset: 0 };
  const sign = zone[0] === "-" ? -1 : 1;
  return { wallSeconds, offset: sign * (Number(zone.slice(1, 3)) * 3600 + Number(zone.slice(4, 6)) * 60) };
}

const instants = new Map<string, number>();

/** Epoch seconds of an instant with an offset; NaN when it has none or is malformed. */
export function instantSeconds(text: string): number {
  let seconds = instants.get(text);
  if (seconds === undefined) {
    const read = readAnew(text);
    seconds = read && read.offset !== null ? read.wallSeconds - read.offset : Number.NaN;
    if (instants.size >= MOST_READINGS) instants.clear();
    instants.set(text, seconds);
  }
  return seconds;
}

const formats = new Map<string, Intl.DateTimeFormat>();
/** By zone and quarter of an hour. */
const offsets = new Map<string, Map<number, number>>();

/** Offset of a zone at an instant, seconds; found by asking what its clock shows. */
function offsetAt(epochSeconds: number, zone: string): number {
  const quarter = Math.floor(epochSeconds / 900);
  let ofZone = offsets.get(zone);
  const known = ofZone?.get(quarter);
  if (known !== undefined) return known;
  let format = formats.get(zone);
  if (!format) {
    format = new Intl.DateTimeFormat("en-US", {
      timeZone: zone,
      hourCycle: "h23",
      year: "numeric",
      month: "numeric",
      day: "numeric",
      hour: "numeric",
      minute: "numeric",
      second: "numeric",
    });
    formats.set(zone, format);
  }
  const at = quarter * 900;
  const part: Record<string, number> = {};
  for (const { type, value } of format.formatToParts(new Date(at * 1000))) part[type] = Number(value);
  const shown = Date.UTC(part.year!, part.month! - 1, part.day!, part.hour!, part.minute!, part.second!) / 1000;
  if (!ofZone) {
    if (offsets.size > 1000) offsets.clear();
    ofZone = new Map();
    offsets.set(zone, ofZone);
  }
  if (ofZone.size > 20_000) ofZone.clear();
  ofZone.set(quarter, shown - at);
  return shown - at;
}

/** D1: a skipped wall time moves on by the gap; of a repeated one the edge chooses the earlier or the later. */
export function wallToMinute(wallSeconds: number, zone: string, edge: "from" | "to"): number {
  const before = offsetAt(wallSeconds - 86_400, zone);
  const after = offsetAt(wallSeconds + 86_400, zone);
  const earlier = Math.min(wallSeconds - before, wallSeconds - after);
  const later = Math.max(wallSeconds - before, wallSeconds - after);
  const first = edge === "from" ? earlier : later;
  const second = edge === "from" ? later : earlier;
  if (shows(first, zone, wallSeconds)) return first / 60;
  return (shows(second, zone, wallSeconds) ? second : wallSeconds - before) / 60;
}

/** Does the zone's clock show a wall time at an instant? */
function shows(epochSeconds: number, zone: string, wallSeconds: number): boolean {
  return epochSeconds + offsetAt(epochSeconds, zone) === wallSeconds;
}

/** A `When` as an epoch minute: with an offset an instant, else the zone's wall clock. NaN when malformed. */
export function whenMinute(text: string, zone: string): number {
  const read = readInstant(text);
  if (!read) return Number.NaN;
  return read.offset !== null ? (read.wallSeconds - read.offset) / 60 : wallToMinute(read.wallSeconds, zone, "from");
}

const DAYS = ["sun", "mon", "tue", "wed", "thu", "fri", "sat"] as const;

function clockSeconds(time: string): number {
  return Number(time.slice(0, 2)) * 3600 + Number(time.slice(3, 5)) * 60;
}

/** Local midnights (as if UTC, seconds) from two days before a window to one day after it, on the weekdays given. */
export function midnights(days: readonly string[], zone: string, fromMinute: number, toMinute: number): number[] {
  const first = Math.floor((fromMinute * 60 + offsetAt(fromMinute * 60, zone)) / 86_400) - 2;
  const last = Math.floor((toMinute * 60 + offsetAt(toMinute * 60, zone)) / 86_400) + 1;
  const found: number[] = [];
  for (let day = first; day <= last; day++) {
    if (days.includes(DAYS[new Date(day * 86_400_000).getUTCDay()]!)) found.push(day * 86_400);
  }
  return found;
}

/** A span of wall-clock times that begins on a midnight's day; `to` at or before `from` is the next day. */
export function wallSpan(midnight: number, from: string, to: string, zone: string): { from: number; to: number } {
  const start = midnight + clockSeconds(from);
  const end = midnight + clockSeconds(to) + (to > from ? 0 : 86_400);
  return { from: wallToMinute(start, zone, "from"), to: wallToMinute(end, zone, "to") };
}

export function wallAt(midnight: number, time: string, zone: string): number {
  return wallToMinute(midnight + clockSeconds(time), zone, "from");
}

/** YYYYMMDD of a local midnight. */
export function dateStamp(midnight: number): string {
  return new Date(midnight * 1000).toISOString().slice(0, 10).replaceAll("-", "");
}
