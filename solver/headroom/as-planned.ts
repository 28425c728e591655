import type { DayDocuments, Happening } from "../../schemas/index.js";

/** What is told of the timetable in force: of its tasks, batches and loads. */
const OF_TIMETABLE: ReadonlySet<Happening["kind"]> = new Set<Happening["kind"]>([
  "started",
  "finished",
  "running",
  "not-started",
  "spoiled",
  "short-batch",
  "pieces-lost",
  "lock",
  "hold",
]);

/**
 * The day as it would be planned from its first minute, with what is known now of units, people, orders and vans. Whether a demand fits is asked of that: not of what
 * is left of a day that has begun, nor around pins.
 */
export function asPlanned({ inForce, ...day }: DayDocuments): DayDocuments {
  const { at, happenings, ...rest } = day.happenings;
  if (!inForce && at === undefined) return day;
  return { ...day, happenings: { ...rest, happenings: happenings.filter(({ kind }) => !OF_TIMETABLE.has(kind)) } };
}
