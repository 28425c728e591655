import type { Rule } from "./breach.js";
import { clockText, type Facts, type TaskFact } from "./facts.js";
import { grouped } from "./sweep.js";

export interface Soiling {
  readonly fact: TaskFact;
  readonly allergens: ReadonlySet<string>;
  readonly lyePercent: number;
}

function leaves(last: Soiling, next: Soiling): boolean {
  if (last.lyePercent !== next.lyePercent) return true;
  if (last.allergens === next.allergens) return false;
  for (const allergen of last.allergens) if (!next.allergens.has(allergen)) return true;
  return false;
}

const cleansKnown = new WeakMap<Facts, ReadonlyMap<string, TaskFact[]>>();

/** Cleaning tasks by unit. */
function cleansOf(facts: Facts): ReadonlyMap<string, TaskFact[]> {
  let cleans = cleansKnown.get(facts);
  if (!cleans) {
    cleans = grouped(
      facts.tasks.filter(({ task }) => task.does === "clean"),
      ({ task }) => task.unit ?? "",
    );
    cleansKnown.set(facts, cleans);
  }
  return cleans;
}

/** D6: after something that leaves what the next may not touch, the unit is cleaned in between, for its minutes. */
export function checkCleaning(facts: Facts, rule: Rule, unit: string, minutes: number, uses: readonly Soiling[]): void {
  if (minutes === 0) return;
  const cleans = (cleansOf(facts).get(unit) ?? []).filter(
    ({ task, start, end }) => task.unit === unit && end - start >= minutes,
  );
  const sorted = [...uses].sort((a, b) => a.fact.start - b.fact.start);
  sorted.forEach((next, i) => {
    for (let k = 0; k < i; k++) {
      const last = sorted[k]!;
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
