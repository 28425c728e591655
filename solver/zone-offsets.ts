import { Temporal } from "temporal-polyfill";

/** Offsets of time zones and RFC 3339 by plain arithmetic, for what is asked thousands of times a day. Temporal says where the offset changes. */

/** [from, to) in epoch seconds, in which a zone's offset is the same. */
interface OffsetSpan {
  readonly from: number;
  readonly to: number;
  readonly offsetSeconds: number;
}

const spansOfZone = new Map<string, OffsetSpan[]>();
/** A document may name any zone that there is, but few do name many. */
const MOST_ZONES = 1000;

function spanAt(epochSecond: number, timeZone: string): OffsetSpan {
  const zoned = Temporal.Instant.fromEpochMilliseconds(epochSecond * 1000).toZonedDateTimeISO(timeZone);
  const edge = (direction: "next" | "previous", from: Temporal.ZonedDateTime, none: number): number => {
    const transition = from.getTimeZoneTransition(direction);
    return transition ? transition.epochMilliseconds / 1000 : none;
  };
  return {
    // The transition before: one at this very second counts.
    from: edge("previous", zoned.add({ seconds: 1 }), Number.NEGATIVE_INFINITY),
    to: edge("next", zoned, Number.POSITIVE_INFINITY),
    offsetSeconds: zoned.offsetNanoseconds / 1e9,
  };
}

function knownSpanAt(epochSecond: number, timeZone: string): OffsetSpan {
  let spans = spansOfZone.get(timeZone);
  if (!spans) {
    if (spansOfZone.size >= MOST_ZONES) spansOfZone.clear();
    spans = [];
    spansOfZone.set(timeZone, spans);
  }
  for (const span of spans) if (epochSecond >= span.from && epochSecond < span.to) return span;
  const span = spanAt(epochSecond, timeZone);
  spans.push(span);
  return span;
}

/** Seconds by which a zone's clock is ahead of UTC. Throws RangeError on an unknown zone. */
export function offsetSecondsAt(epochSecond: number, timeZone: string): number {
  return knownSpanAt(epochSecond, timeZone).offsetSeconds;
}

/** Does a zone's offset change after one second and no later than another? */
export function changesWithin(fromSecond: number, toSecond: number, timeZone: string): boolean {
  return toSecond > fromSecond && knownSpanAt(fromSecond, timeZone).to <= toSecond;
}

const DAY_SECONDS = 86_400;

/** The offset before any change that the wall clock of a date and time may lie in; no zone's clock jumps twice in four days, and none by more than a day. */
export function offsetBefore(wall: number, timeZone: string): number {
  return offsetSecondsAt(wall - 2 * DAY_SECONDS, timeZone);
}

/** The instants at which a zone's clock shows a wall time (given as if it were UTC), in epoch seconds, earlier first: none when it is skipped, two when it comes twice. */
export function readings(wall: number, timeZone: string): number[] {
  const before = wall - offsetBefore(wall, timeZone);
  const after = wall - offsetSecondsAt(wall + 2 * DAY_SECONDS, timeZone);
  const both = before === after ? [before] : [Math.min(before, after), Math.max(before, after)];
  return both.filter((at) => at + offsetSecondsAt(at, timeZone) === wall);
}

const DATE_TIME = /^(\d{4})-(\d\d)-(\d\d)T(\d\d):(\d\d)(?::(\d\d))?(?:(Z)|([+-])(\d\d):(\d\d))?$/;

/** The wall time as if it were UTC, in seconds, and the offset that is written; null when it is in another form, or names a date or time that is none. */
function readDateTime(text: string): { wall: number; offset: number | undefined } | null {
  const match = DATE_TIME.exec(text);
  if (!match) return null;
  const part = (i: number): number => Number(match[i] ?? 0);
  if (part(4) > 23 || part(5) > 59 || part(6) > 59 || part(9) > 23 || part(10) > 59 || part(1) < 1000) return null;
  const midnight = Date.UTC(part(1), part(2) - 1, part(3));
  const date = new Date(midnight);
  if (date.getUTCMonth() !== part(2) - 1 || date.getUTCDate() !== part(3)) return null;
  const wall = midnight / 1000 + part(4) * 3600 + part(5) * 60 + part(6);
  const isInstant = match[7] !== undefined || match[8] !== undefined;
  return { wall, offset: isInstant ? (part(9) * 60 + part(10)) * (match[8] === "-" ? -60 : 60) : undefined };
}

const instantsKnown = new Map<string, number>();
const MOST_INSTANTS = 50_000;

/** Epoch seconds of an instant in the form that timetables are written in; undefined for any other text. A timetable names the same few over and over. */
export function plainInstant(text: string): number | undefined {
  const known = instantsKnown.get(text);
  if (known !== undefined) return known;
  const read = readDateTime(text);
  if (read?.offset === undefined) return undefined;
  if (instantsKnown.size >= MOST_INSTANTS) instantsKnown.clear();
  instantsKnown.set(text, read.wall - read.offset);
  return read.wall - read.offset;
}

/** Seconds of a wall clock's date and time to the minute, as if it were UTC; undefined for any other text. */
export function plainWall(text: string): number | undefined {
  const read = readDateTime(text);
  return read && read.offset === undefined && read.wall % 60 === 0 ? read.wall : undefined;
}

function two(n: number): string {
  return n < 10 ? `0${n}` : `${n}`;
}

/** RFC 3339 with offset and seconds; undefined where the offset is not in whole minutes, or the year not in four digits. */
export function plainText(epochSecond: number, timeZone: string): string | undefined {
  const offset = offsetSecondsAt(epochSecond, timeZone);
  const wall = new Date((epochSecond + offset) * 1000);
  const year = wall.getUTCFullYear();
  if (offset % 60 !== 0 || !Number.isInteger(epochSecond) || !(year >= 1000 && year <= 9999)) return undefined;
  const minutes = Math.abs(offset) / 60;
  return `${wall.toISOString().slice(0, 19)}${offset < 0 ? "-" : "+"}${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
}
