import type { DayDocuments, Happening } from "../../schemas/index.js";
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

/** The day without the holds and locks of some tasks; null when it has none. */
export function withoutWishes(day: DayDocuments, tasks: ReadonlySet<string>): DayDocuments | null {
  const { happenings } = day.happenings;
  const left = happenings.filter((one) => !isWish(one) || !tasks.has(one.task));
  return left.length === happenings.length ? null : { ...day, happenings: { ...day.happenings, happenings: left } };
}

function isWish(happening: Happening): happening is Extract<Happening, { kind: "hold" | "lock" }> {
  return happening.kind === "hold" || happening.kind === "lock";
}
