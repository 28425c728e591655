import type { Rule } from "./breach.js";
import { clockText, type Facts, type TaskFact } from "./facts.js";

export interface Soiling {
  readonly fact: TaskFact;
  readonly allergens: ReadonlySet<string>;
  readonly lyePercent: number;
}

function leaves(last: Soiling, next: Soiling): boolean {
  if (last.lyePercent !== next.lyePercent) return true;
  return [...last.allergens].some((allergen) => !next.allergens.has(allergen));
}

/** D6: after something that leaves what the next may not touch, the unit is cleaned in between, for its minutes. */
export function checkCleaning(facts: Facts, rule: Rule, unit: string, minutes: number, uses: readonly Soiling[]): void {
  if (minutes === 0) return;
  const cleans = facts.tasks.filter(
    ({ task, start, end }) => task.does === "clean" && task.unit === unit && end - start >= minutes,
  );
  const sorted = [...uses].sort((a, b) => a.fact.start - b.fact.start);
  sorted.forEach((next, i) => {
    for (const last of sorted.slice(0, i)) {
      const overlapping = last.fact.end > next.fact.start;
      if (overlapping ? !leaves(last, next) && !leaves(next, last) : !leaves(last, next)) continue;
      const cleaned = cleans.some(({ start, end }) => start >= last.fact.end && end <= next.fact.start);
      if (cleaned) continue;
      const ids = [last.fact.task.id, next.fact.task.id];
      facts.report.add(
        rule,
        "not-cleaned",
        `${unit} is not cleaned for ${minutes} min between ${ids[0]} (until ${clockText(last.fact.end)}) and ${ids[1]} (from ${clockText(next.fact.start)})`,
        ids,
        { unit },
      );
    }
  });
}
