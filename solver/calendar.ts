import { Temporal } from "temporal-polyfill";
import type { CrewGroup, Happenings, Network, Settings, Site, VanRun, Weekday } from "../schemas/index.js";
import { offsetBefore, offsetSecondsAt, plainInstant, plainText, plainWall, readings } from "./zone-offsets.js";

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
  const plain = plainInstant(text);
  if (plain !== undefined) return plain;
  try {
    return Math.round(Temporal.Instant.from(text).epochMilliseconds / 1000);
  } catch {
    return null;
  }
}

/** Minutes since the epoch of an instant, to the nearest; NaN when it is none. */
export function instantMinute(text: string): number {
  return Math.round((parseInstant(text) ?? Number.NaN) / 60);
}

const whensKnown = new Map<string, Map<string, ResolvedWhen>>();
const MOST_ZONES = 1000;
const MOST_WHENS = 20_000;

/** A date and time to the minute: an instant when it has an offset, else the wall clock of the zone. Documents name the same few over and over. */
export function resolveWhen(when: string, timeZone: string): ResolvedWhen {
  let known = whensKnown.get(timeZone);
  if (!known) {
    if (whensKnown.size >= MOST_ZONES) whensKnown.clear();
    known = new Map();
    whensKnown.set(timeZone, known);
  }
  let resolved = known.get(when);
  if (!resolved) {
    resolved = resolveAnew(when, timeZone);
    if (known.size >= MOST_WHENS) known.clear();
    known.set(when, resolved);
  }
  return resolved;
}

function resolveAnew(when: string, timeZone: string): ResolvedWhen {
  if (/(Z|[+-]\d\d:\d\d)$/.test(when)) {
    const seconds = parseInstant(when);
    return seconds === null || seconds % 60 !== 0 ? { problem: "malformed" } : { minute: seconds / 60 };
  }
  const wall = plainWall(when);
  if (wall === undefined) return { problem: "malformed" };
  const fits = readings(wall, timeZone);
  if (fits.length === 0) return { problem: "skipped" };
  return fits.length > 1 ? { problem: "ambiguous" } : { minute: fits[0]! / 60 };
}

/** RFC 3339 with the zone's offset and seconds. */
export function formatInstantSeconds(epochSecond: number, timeZone: string): string {
  const plain = plainText(epochSecond, timeZone);
  if (plain !== undefined) return plain;
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

const DAY_SECONDS = 86_400;

/** Seconds after midnight of HH:MM. */
function clockSeconds(time: string): number {
  return Number(time.slice(0, 2)) * 3600 + Number(time.slice(3, 5)) * 60;
}

/** D1: a skipped time moves on by the gap; of a repeated one a beginning takes the earlier, an end the later. `day` counts days since the epoch. */
function wallMinute(day: number, time: string, timeZone: string, edge: "from" | "to"): number {
  const wall = day * DAY_SECONDS + clockSeconds(time);
  const fits = readings(wall, timeZone);
  if (fits.length === 0) return (wall - offsetBefore(wall, timeZone)) / 60;
  return (edge === "from" ? fits[0]! : fits[fits.length - 1]!) / 60;
}

/** The local dates whose patterns may touch a window, in days since the epoch: from two days before it to one after. */
function* datesAround(timeZone: string, window: MinuteSpan): Generator<number> {
  const dateOf = (minute: number) => Math.floor((minute * 60 + offsetSecondsAt(minute * 60, timeZone)) / DAY_SECONDS);
  const last = dateOf(window.toMinute) + 1;
  for (let day = dateOf(window.fromMinute) - 2; day <= last; day++) yield day;
}

/** The first of January 1970 was a Thursday. */
function falls(days: readonly Weekday[], day: number): boolean {
  return days.includes(WEEKDAYS[(((day + 3) % 7) + 7) % 7]!);
}

/** The occurrence of a pattern that begins on a date: `to` at or before `from` is the next day. */
function occurrence(day: number, from: string, to: string, timeZone: string): MinuteSpan {
  const endDay = to > from ? day : day + 1;
  return { fromMinute: wallMinute(day, from, timeZone, "from"), toMinute: wallMinute(endDay, to, timeZone, "to") };
}

/** Every occurrence of a weekly pattern that overlaps the window, in order of time. */
export function weeklySpans(
  pattern: { readonly days: readonly Weekday[]; readonly from: string; readonly to: string },
  timeZone: string,
  window: MinuteSpan,
): MinuteSpan[] {
  const spans: MinuteSpan[] = [];
  for (const day of datesAround(timeZone, window)) {
    if (!falls(pattern.days, day)) continue;
    const span = occurrence(day, pattern.from, pattern.to, timeZone);
    if (span.toMinute > window.fromMinute && span.fromMinute < window.toMinute) spans.push(span);
  }
  return spans;
}

/** A time at which a zone's clock shows HH:MM. */
export interface ClockReading {
  readonly minute: number;
  /** Its date and time without an offset: two readings have the same in the night that gains an hour. */
  readonly wall: string;
  /** RFC 3339. */
  readonly instant: string;
}

/** Whenever a zone's clock shows a time on the dates of a span, in order; where it is skipped, when the clocks resume. */
export function clockReadings(time: string, timeZone: string, span: MinuteSpan): ClockReading[] {
  const found: ClockReading[] = [];
  for (const day of datesAround(timeZone, span)) {
    const wall = `${new Date(day * DAY_SECONDS * 1000).toISOString().slice(0, 10)}T${time}`;
    const first = wallMinute(day, time, timeZone, "from");
    for (const minute of new Set([first, wallMinute(day, time, timeZone, "to")]))
      found.push({ minute, wall, instant: formatInstant(minute, timeZone) });
  }
  return found;
}

/** Departures of a van run inside the window, with the local date as YYYYMMDD. */
export function departures(
  run: Pick<VanRun, "days" | "departs">,
  timeZone: string,
  window: MinuteSpan,
): { minute: number; date: string }[] {
  const found: { minute: number; date: string }[] = [];
  for (const day of datesAround(timeZone, window)) {
    if (!falls(run.days, day)) continue;
    const minute = wallMinute(day, run.departs, timeZone, "from");
    if (minute >= window.fromMinute && minute < window.toMinute) {
      found.push({ minute, date: new Date(day * DAY_SECONDS * 1000).toISOString().slice(0, 10).replaceAll("-", "") });
    }
  }
  return found;
}

export interface CrewCapacity {
  /** Heads by minute of the window. */
  readonly regular: Int32Array;
  readonly overtime: { readonly capacity: Int32Array; readonly costPerHour: number }[];
}

/** Breaks lie inside their shift: a time before the shift's start is on the next day. */
function breakSpan(shiftFrom: string, day: number, pause: { from: string; to: string }, timeZone: string) {
  const start = pause.from >= shiftFrom ? day : day + 1;
  return occurrence(start, pause.from, pause.to, timeZone);
}

/** Somebody is away. */
export type Absence = MinuteSpan & { readonly heads: number };

/** When how many of a group were told to be away. */
export function absencesOf({ happenings }: Happenings, { id, timeZone }: Site, group: string): Absence[] {
  const absences: Absence[] = [];
  for (const happening of happenings) {
    if (happening.kind !== "absent" || happening.site !== id || happening.crew !== group) continue;
    const from = resolveWhen(happening.from, timeZone);
    const to = resolveWhen(happening.to, timeZone);
    if ("problem" in from || "problem" in to) continue;
    absences.push({ fromMinute: from.minute, toMinute: to.minute, heads: happening.heads });
  }
  return absences;
}

interface KnownCapacity extends MinuteSpan {
  readonly timeZone: string;
  readonly capacity: CrewCapacity;
}

const capacities = new WeakMap<CrewGroup, KnownCapacity>();

/** Heads of a group by minute (D7): shifts, less breaks, less absences (which take regular heads first). Do not change it: while nobody is away it is kept. */
export function crewCapacity(
  group: CrewGroup,
  timeZone: string,
  absences: readonly Absence[],
  window: MinuteSpan,
): CrewCapacity {
  if (absences.length > 0) return capacityAnew(group, timeZone, absences, window);
  const { fromMinute, toMinute } = window;
  let known = capacities.get(group);
  if (known?.timeZone !== timeZone || known.fromMinute !== fromMinute || known.toMinute !== toMinute) {
    known = { timeZone, fromMinute, toMinute, capacity: capacityAnew(group, timeZone, [], window) };
    capacities.set(group, known);
  }
  return known.capacity;
}

function capacityAnew(
  group: CrewGroup,
  timeZone: string,
  absences: readonly Absence[],
  window: MinuteSpan,
): CrewCapacity {
  const length = window.toMinute - window.fromMinute;
  const regular = new Int32Array(length);
  const byCost = new Map<number, Int32Array>();
  const add = (line: Int32Array, span: MinuteSpan, heads: number): void => {
    const to = Math.min(length, span.toMinute - window.fromMinute);
    for (let t = Math.max(0, span.fromMinute - window.fromMinute); t < to; t++) line[t] = line[t]! + heads;
  };
  for (const shift of group.shifts) {
    const cost = shift.overtimeCostPerHour;
    let line: Int32Array = regular;
    if (cost !== undefined) {
      line = byCost.get(cost) ?? new Int32Array(length);
      byCost.set(cost, line);
    }
    for (const day of datesAround(timeZone, window)) {
      if (!falls(shift.days, day)) continue;
      add(line, occurrence(day, shift.from, shift.to, timeZone), shift.heads);
      for (const pause of shift.breaks ?? []) {
        add(line, breakSpan(shift.from, day, pause, timeZone), -Math.min(shift.heads, pause.heads ?? shift.heads));
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
