import { Temporal } from "temporal-polyfill";
import type { CrewGroup, Network, Settings, VanRun, Weekday } from "../schemas/index.js";

/** The only place where wall-clock time becomes instants. Instants are whole minutes since the Unix epoch. */

const WEEKDAYS: readonly Weekday[] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
const MINUTE_MS = 60_000;

export interface MinuteSpan {
  readonly fromMinute: number;
  readonly toMinute: number;
}

export type ResolvedWhen = { readonly minute: number } | { readonly problem: "skipped" | "ambiguous" | "malformed" };

/** Is this a time zone of the IANA database? */
export function isTimeZone(zone: string): boolean {
  try {
    Temporal.Instant.fromEpochMilliseconds(0).toZonedDateTimeISO(zone);
    return !/^[+-]/.test(zone);
  } catch {
    return false;
  }
}

/** Epoch seconds of an RFC 3339 instant (seconds may be left out), or null. */
export function parseInstant(text: string): number | null {
  try {
    return Math.round(Temporal.Instant.from(text).epochMilliseconds / 1000);
  } catch {
    return null;
  }
}

/** A date and time to the minute: an instant when it has an offset, else the wall clock of the zone. */
export function resolveWhen(when: string, timeZone: string): ResolvedWhen {
  if (/(Z|[+-]\d\d:\d\d)$/.test(when)) {
    const seconds = parseInstant(when);
    return seconds === null || seconds % 60 !== 0 ? { problem: "malformed" } : { minute: seconds / 60 };
  }
  let wall: Temporal.PlainDateTime;
  try {
    wall = Temporal.PlainDateTime.from(when);
  } catch {
    return { problem: "malformed" };
  }
  if (wall.second !== 0) return { problem: "malformed" };
  const earlier = wall.toZonedDateTime(timeZone, { disambiguation: "earlier" });
  const later = wall.toZonedDateTime(timeZone, { disambiguation: "later" });
  if (earlier.epochMilliseconds === later.epochMilliseconds) return { minute: earlier.epochMilliseconds / MINUTE_MS };
  return { problem: earlier.toPlainDateTime().equals(wall) ? "ambiguous" : "skipped" };
}

/** RFC 3339 with the zone's offset and seconds. */
export function formatInstantSeconds(epochSecond: number, timeZone: string): string {
  return Temporal.Instant.fromEpochMilliseconds(epochSecond * 1000)
    .toZonedDateTimeISO(timeZone)
    .toString({ timeZoneName: "never", smallestUnit: "second" });
}

export function formatInstant(epochMinute: number, timeZone: string): string {
  return formatInstantSeconds(epochMinute * 60, timeZone);
}

/** The wall clock of a zone at an instant. */
export function localParts(epochMinute: number, timeZone: string): { date: string; time: string; weekday: Weekday } {
  const local = Temporal.Instant.fromEpochMilliseconds(epochMinute * MINUTE_MS).toZonedDateTimeISO(timeZone);
  return {
    date: local.toPlainDate().toString(),
    time: local.toPlainTime().toString({ smallestUnit: "minute" }),
    weekday: WEEKDAYS[local.dayOfWeek - 1]!,
  };
}

/** D1: a skipped time moves on by the gap; of a repeated one a beginning takes the earlier, an end the later. */
function wallMinute(date: Temporal.PlainDate, time: string, timeZone: string, edge: "from" | "to"): number {
  const wall = date.toPlainDateTime(Temporal.PlainTime.from(time));
  const later = wall.toZonedDateTime(timeZone, { disambiguation: "later" });
  const earlier = wall.toZonedDateTime(timeZone, { disambiguation: "earlier" });
  const exists = earlier.toPlainDateTime().equals(wall);
  const chosen = exists && edge === "from" ? earlier : later;
  return chosen.epochMilliseconds / MINUTE_MS;
}

/** The local dates whose patterns may touch a window: from two days before it to one after. */
function* datesAround(timeZone: string, window: MinuteSpan): Generator<Temporal.PlainDate> {
  const dateOf = (minute: number) =>
    Temporal.Instant.fromEpochMilliseconds(minute * MINUTE_MS)
      .toZonedDateTimeISO(timeZone)
      .toPlainDate();
  const last = dateOf(window.toMinute).add({ days: 1 });
  for (
    let date = dateOf(window.fromMinute).subtract({ days: 2 });
    Temporal.PlainDate.compare(date, last) <= 0;
    date = date.add({ days: 1 })
  ) {
    yield date;
  }
}

function falls(days: readonly Weekday[], date: Temporal.PlainDate): boolean {
  return days.includes(WEEKDAYS[date.dayOfWeek - 1]!);
}

/** The occurrence of a pattern that begins on a date: `to` at or before `from` is the next day. */
function occurrence(date: Temporal.PlainDate, from: string, to: string, timeZone: string): MinuteSpan {
  const endDate = to > from ? date : date.add({ days: 1 });
  return { fromMinute: wallMinute(date, from, timeZone, "from"), toMinute: wallMinute(endDate, to, timeZone, "to") };
}

/** Every occurrence of a weekly pattern that overlaps the window, in order of time. */
export function weeklySpans(
  pattern: { readonly days: readonly Weekday[]; readonly from: string; readonly to: string },
  timeZone: string,
  window: MinuteSpan,
): MinuteSpan[] {
  const spans: MinuteSpan[] = [];
  for (const date of datesAround(timeZone, window)) {
    if (!falls(pattern.days, date)) continue;
    const span = occurrence(date, pattern.from, pattern.to, timeZone);
    if (span.toMinute > window.fromMinute && span.fromMinute < window.toMinute) spans.push(span);
  }
  return spans;
}

/** Departures of a van run inside the window, with the local date as YYYYMMDD. */
export function departures(
  run: Pick<VanRun, "days" | "departs">,
  timeZone: string,
  window: MinuteSpan,
): { minute: number; date: string }[] {
  const found: { minute: number; date: string }[] = [];
  for (const date of datesAround(timeZone, window)) {
    if (!falls(run.days, date)) continue;
    const minute = wallMinute(date, run.departs, timeZone, "from");
    if (minute >= window.fromMinute && minute < window.toMinute) {
      found.push({ minute, date: date.toString().replaceAll("-", "") });
    }
  }
  return found;
}

export interface CrewCapacity {
  /** Heads by minute of the window. */
  readonly regular: Int16Array;
  readonly overtime: { readonly capacity: Int16Array; readonly costPerHour: number }[];
}

/** Breaks lie inside their shift: a time before the shift's start is on the next day. */
function breakSpan(shiftFrom: string, date: Temporal.PlainDate, pause: { from: string; to: string }, timeZone: string) {
  const start = pause.from >= shiftFrom ? date : date.add({ days: 1 });
  return occurrence(start, pause.from, pause.to, timeZone);
}

/** Heads of a group by minute (D7): shifts, less breaks, less absences (which take regular heads first). */
export function crewCapacity(
  group: CrewGroup,
  timeZone: string,
  absences: readonly (MinuteSpan & { readonly heads: number })[],
  window: MinuteSpan,
): CrewCapacity {
  const length = window.toMinute - window.fromMinute;
  const regular = new Int16Array(length);
  const byCost = new Map<number, Int16Array>();
  const add = (line: Int16Array, span: MinuteSpan, heads: number): void => {
    const to = Math.min(length, span.toMinute - window.fromMinute);
    for (let t = Math.max(0, span.fromMinute - window.fromMinute); t < to; t++) line[t] = line[t]! + heads;
  };
  for (const shift of group.shifts) {
    const cost = shift.overtimeCostPerHour;
    let line: Int16Array = regular;
    if (cost !== undefined) {
      line = byCost.get(cost) ?? new Int16Array(length);
      byCost.set(cost, line);
    }
    for (const date of datesAround(timeZone, window)) {
      if (!falls(shift.days, date)) continue;
      add(line, occurrence(date, shift.from, shift.to, timeZone), shift.heads);
      for (const pause of shift.breaks ?? []) {
        add(line, breakSpan(shift.from, date, pause, timeZone), -Math.min(shift.heads, pause.heads ?? shift.heads));
      }
    }
  }
  for (const absence of absences) add(regular, absence, -absence.heads);
  const overtime = [...byCost].map(([costPerHour, capacity]) => ({ costPerHour, capacity }));
  overtime.sort((a, b) => a.costPerHour - b.costPerHour);
  for (let t = 0; t < length; t++) {
    let owed = regular[t]! < 0 ? -regular[t]! : 0;
    if (regular[t]! < 0) regular[t] = 0;
    for (const { capacity } of overtime) {
      const given = Math.min(owed, Math.max(0, capacity[t]!));
      owed -= given;
      capacity[t] = Math.max(0, capacity[t]! - given);
    }
  }
  return { regular, overtime };
}

/** The settings' window as instants; without an offset it is the wall clock of the network's first site. */
export function resolveWindow(
  settings: Settings,
  network: Network,
): MinuteSpan | { readonly problem: string; readonly at: "from" | "to" } {
  const zone = network.sites[0]!.timeZone;
  const from = resolveWhen(settings.window.from, zone);
  if ("problem" in from) return { problem: from.problem, at: "from" };
  const to = resolveWhen(settings.window.to, zone);
  if ("problem" in to) return { problem: to.problem, at: "to" };
  return { fromMinute: from.minute, toMinute: to.minute };
}
