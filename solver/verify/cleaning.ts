import type { Rule } from "./breach.js";
import { clockText, type Facts, type TaskFact, tasksThat } from "./facts.js";
import { grouped } from "./sweep.js";

export interface Soiling {
  readonly fact: TaskFact;
  readonly allergens: ReadonlySet<string>;
  readonly lyePercent: number;
}

/** Does the first leave what the second may not touch? */
function leavesSome(last: ReadonlySet<string>, next: ReadonlySet<string>): boolean {
  for (const allergen of last) if (!next.has(allergen)) return true;
  return false;
}

/** Remembers what soiling leaves for what: every pair of uses of a unit is looked at, and they are of few kinds. */
class Leavings {
  private readonly known = new Map<ReadonlySet<string>, Map<ReadonlySet<string>, boolean>>();

  leaves(last: Soiling, next: Soiling): boolean {
    if (last.lyePercent !== next.lyePercent) return true;
    if (last.allergens === next.allergens) return false;
    let ofLast = this.known.get(last.allergens);
    if (!ofLast) {
      ofLast = new Map();
      this.known.set(last.allergens, ofLast);
    }
    let leaves = ofLast.get(next.allergens);
    if (leaves === undefined) {
      leaves = leavesSome(last.allergens, next.allergens);
      ofLast.set(next.allergens, leaves);
    }
    return leaves;
  }
}

const cleansKnown = new WeakMap<Facts, ReadonlyMap<string, TaskFact[]>>();

/** Cleaning tasks by unit. */
function cleansOf(facts: Facts): ReadonlyMap<string, TaskFact[]> {
  let cleans = cleansKnown.get(facts);
  if (!cleans) {
    cleans = grouped(tasksThat(facts, "clean"), unitOf);
    cleansKnown.set(facts, cleans);
  }
  return cleans;
}

export function unitOf({ task }: TaskFact): string {
  return task.unit ?? "";
}

/** Cleaning tasks on a unit. */
export function cleansOn(facts: Facts, unit: string): readonly TaskFact[] {
  return (cleansOf(facts).get(unit) ?? []).filter(({ task }) => task.unit === unit);
}

function byStart(a: Soiling, b: Soiling): number {
  return a.fact.start - b.fact.start;
}

/** D6: after something that leaves what the next may not touch, the unit is cleaned in between, for its minutes. */
export function checkCleaning(facts: Facts, rule: Rule, unit: string, minutes: number, uses: readonly Soiling[]): void {
  if (minutes === 0) return;
  const cleans = cleansOn(facts, unit).filter(({ start, end }) => end - start >= minutes);
  const sorted = [...uses].sort(byStart);
  const leavings = new Leavings();
  for (let i = 0; i < sorted.length; i++) {
    const next = sorted[i]!;
    // When the latest cleaning that ends before the use began: what was over by then is gone.
    let cleanedAt = Number.NEGATIVE_INFINITY;
    for (const { start, end } of cleans) if (end <= next.fact.start && start > cleanedAt) cleanedAt = start;
    for (let k = 0; k < i; k++) {
      const last = sorted[k]!;
      if (cleanedAt >= last.fact.end) continue;
      const overlapping = last.fact.end > next.fact.start;
      const isLeft = leavings.leaves(last, next) || (overlapping && leavings.leaves(next, last));
      if (!isLeft) continue;
      const ids = [last.fact.task.id, next.fact.task.id];
      facts.report.add(
        rule,
        "not-cleaned",
        `${unit} is not cleaned for ${minutes} min between ${ids[0]} (until ${clockText(last.fact.end)}) and ${ids[1]} (from ${clockText(next.fact.start)})`,
        ids,
        { unit },
      );
    }
  }
}
