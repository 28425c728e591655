import type { DayDocuments, Happening } from "../../schemas/index.js";
import { type Breach, verify } from "../verify/index.js";

/** What waiting does not mend: the timetable in force has it already, or it must be repaired. */
const NEEDS_REPAIR: ReadonlySet<Happening["kind"]> = new Set([
  "absent",
  "smaller",
  "slower",
  "spoiled",
  "short-batch",
  "pieces-lost",
  "order-added",
  "order-changed",
  "order-cancelled",
  "hold",
]);
/** What is told of how far tasks are is played. */
const REPORTS: ReadonlySet<Happening["kind"]> = new Set(["started", "finished", "running", "not-started"]);
/** Told apart as long as there are no more. */
const MOST_APART = 8;

/** Of the happenings that cannot be met by waiting, how many the timetable in force does not meet yet: it breaks rules with them that it does not break without. */
export function unmetHappenings(day: DayDocuments): number {
  const needing = day.happenings.happenings.filter(({ kind }) => NEEDS_REPAIR.has(kind));
  if (needing.length === 0) return 0;
  const others = day.happenings.happenings.filter(({ kind }) => !NEEDS_REPAIR.has(kind) && !REPORTS.has(kind));
  const broken = (happenings: readonly Happening[]): Breach[] =>
    verify({ ...day, happenings: { ...day.happenings, happenings: [...happenings] } }, day.inForce!);
  const all = broken([...others, ...needing]);
  if (all.length === 0) return 0;
  const without = new Set(broken(others).map(textOf));
  const isWorse = (breaches: readonly Breach[]): boolean => breaches.some((breach) => !without.has(textOf(breach)));
  if (!isWorse(all)) return 0;
  if (needing.length > MOST_APART) return needing.length;
  return Math.max(1, needing.filter((one) => isWorse(broken([...others, one]))).length);
}

function textOf({ rule, code, message, tasks, unit }: Breach): string {
  return JSON.stringify([rule, code, unit, tasks.length > 0 ? tasks : message]);
}
