import type { DayDocuments, Happening, Timetable } from "../../schemas/index.js";
import { instantMinute, resolveWhen } from "../calendar.js";
import type { Breach } from "../verify/index.js";

/** A mix that is held or locked for nothing: no load of its batch can be made any more. */
const OF_WISHES: ReadonlySet<string> = new Set([
  "not-held",
  "locked-gone",
  "locked-moved",
  "locked-changed",
  "mixed-for-nothing",
]);

/**
 * Tasks whose hold or lock a repair could not keep: news has made it impossible, and a morning without a repair is worse than a wish that is given up. Those
 * `insistedOn` are not among them.
 */
export function unmetWishes(breaches: readonly Breach[], insistedOn?: ReadonlySet<string>): Set<string> {
  const tasks = new Set<string>();
  for (const { code, tasks: own } of breaches)
    if (OF_WISHES.has(code)) for (const task of own) if (!insistedOn?.has(task)) tasks.add(task);
  return tasks;
}

/**
 * Tasks of loads that a repair throws away although nobody said that they are spoiled: it may be for their hold or lock that there is no way on. Those `insistedOn`
 * are not among them.
 */
export function wishesOfThrownAway(
  { inForce, happenings: { happenings } }: DayDocuments,
  { loads, tasks }: Timetable,
  insistedOn?: ReadonlySet<string>,
): Set<string> {
  const wished = new Set<string>();
  if (!happenings.some(isWish)) return wished;
  const spoiled = new Set<string | undefined>();
  for (const one of happenings) if (one.kind === "spoiled") spoiled.add(one.load).add(one.batch);
  spoiled.delete(undefined);
  const before = new Set(inForce?.loads.flatMap(({ id, scrapped }) => (scrapped ? [id] : [])));
  const thrown = new Set<string>();
  for (const { id, batch, scrapped } of loads)
    if (scrapped && !before.has(id) && !spoiled.has(id) && !spoiled.has(batch)) thrown.add(id);
  const loadOf = new Map(inForce?.tasks.map(({ id, load }) => [id, load]));
  const begun = new Set(tasks.map(({ id }) => id));
  for (const one of happenings) {
    if (!isWish(one) || insistedOn?.has(one.task) || begun.has(one.task)) continue;
    if (thrown.has(loadOf.get(one.task) ?? "")) wished.add(one.task);
  }
  return wished;
}

/**
 * Tasks that are ahead, at another time or on another unit than their hold or lock has them: its time is past, or the unit out of service then, and the rules
 * ask it no more (D24). Whoever held them is to know.
 */
export function unkeptWishes({ network, inForce, happenings }: DayDocuments, timetable: Timetable): Set<string> {
  const unkept = new Set<string>();
  // Of one task the last hold counts.
  const wishes = new Map<string, Wished>();
  for (const one of happenings.happenings) if (isWish(one)) wishes.set(`${one.kind} ${one.task}`, one);
  if (wishes.size === 0) return unkept;
  const zones = new Map(network.sites.map(({ id, timeZone }) => [id, timeZone]));
  const before = new Map(inForce?.tasks.map((task) => [task.id, task]));
  const after = new Map(timetable.tasks.map((task) => [task.id, task]));
  const minute = (when: string, zone: string): number => {
    const resolved = resolveWhen(when, zone);
    if ("problem" in resolved) throw new RangeError(`"${when}" does not resolve; check the day first`);
    return resolved.minute;
  };
  const at = minute(happenings.at!, network.sites[0]!.timeZone);
  for (const one of wishes.values()) {
    const was = before.get(one.task);
    const now = after.get(one.task);
    if (!was || !now || instantMinute(now.start) < at) continue;
    const start = one.kind === "lock" ? instantMinute(was.start) : minute(one.start, zones.get(was.site)!);
    const unit = one.kind === "lock" ? was.unit : one.unit;
    if (instantMinute(now.start) !== start || (unit !== undefined && now.unit !== unit)) unkept.add(one.task);
  }
  return unkept;
}

/** Does a timetable keep some load that another throws away? */
export function savesSome(timetable: Timetable, other: Timetable): boolean {
  const thrown = new Set(other.loads.flatMap(({ id, scrapped }) => (scrapped ? [id] : [])));
  return timetable.loads.some(({ id, scrapped }) => !scrapped && thrown.has(id));
}

/** The day without the holds and locks of some tasks; null when it has none. */
export function withoutWishes(day: DayDocuments, tasks: ReadonlySet<string>): DayDocuments | null {
  const { happenings } = day.happenings;
  const left = happenings.filter((one) => !isWish(one) || !tasks.has(one.task));
  return left.length === happenings.length ? null : { ...day, happenings: { ...day.happenings, happenings: left } };
}

type Wished = Extract<Happening, { kind: "hold" | "lock" }>;

function isWish(happening: Happening): happening is Wished {
  return happening.kind === "hold" || happening.kind === "lock";
}
