import type { Rule } from "./breach.js";
import { clockText, type Facts, type TaskFact, tasksThat } from "./facts.js";
import { grouped, ordered } from "./sweep.js";

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

function leaves(last: Soiling, next: Soiling): boolean {
  if (last.lyePercent !== next.lyePercent) return true;
  // The same allergens are the same set.
  return last.allergens !== next.allergens && leavesSome(last.allergens, next.allergens);
}

/** Uses of a unit by what they leave: they are of few kinds, and every pair is looked at. */
class Kinds {
  private readonly kinds: Soiling[] = [];
  /** Of each use. */
  readonly of: Int32Array;
  /** Does one of a kind leave what one of another may not touch? */
  private readonly table: Uint8Array;

  constructor(uses: readonly Soiling[]) {
    this.of = new Int32Array(uses.length);
    for (let i = 0; i < uses.length; i++) this.of[i] = this.numberOf(uses[i]!);
    const { length } = this.kinds;
    this.table = new Uint8Array(length * length);
    for (let a = 0; a < length; a++)
      for (let b = 0; b < length; b++) if (leaves(this.kinds[a]!, this.kinds[b]!)) this.table[a * length + b] = 1;
  }

  get areAlike(): boolean {
    return this.kinds.length < 2;
  }

  leaves(last: number, next: number): boolean {
    return this.table[last * this.kinds.length + next] === 1;
  }

  private numberOf(use: Soiling): number {
    const { kinds } = this;
    for (let k = 0; k < kinds.length; k++)
      if (kinds[k]!.lyePercent === use.lyePercent && kinds[k]!.allergens === use.allergens) return k;
    return kinds.push(use) - 1;
  }
}

const cleansKnown = new WeakMap<Facts, ReadonlyMap<string, TaskFact[]>>();

/** Cleaning tasks by unit. */
function cleansOf(facts: Facts): ReadonlyMap<string, TaskFact[]> {
  let cleans = cleansKnown.get(facts);
  if (!cleans) {
    const onUnit = grouped(tasksThat(facts, "clean"), unitOf);
    // Those on no unit.
    onUnit.delete("");
    cleans = onUnit;
    cleansKnown.set(facts, cleans);
  }
  return cleans;
}

export function unitOf({ task }: TaskFact): string {
  return task.unit ?? "";
}

const NO_CLEANS: readonly TaskFact[] = [];

/** Cleaning tasks on a unit. */
export function cleansOn(facts: Facts, unit: string): readonly TaskFact[] {
  return cleansOf(facts).get(unit) ?? NO_CLEANS;
}

/** Something that is on a unit for a while. */
export interface Busy {
  readonly from: number;
  readonly to: number;
  readonly id: string;
}

/** Work and cleaning on a unit. */
export function busyOn(work: readonly TaskFact[], cleans: readonly TaskFact[]): Busy[] {
  const busy: Busy[] = [];
  for (const { task, start, end } of work) busy.push({ from: start, to: end, id: task.id });
  for (const { task, start, end } of cleans) busy.push({ from: start, to: end, id: task.id });
  return busy;
}

function byStart(a: Soiling, b: Soiling): number {
  return a.fact.start - b.fact.start;
}

/** D6: after something that leaves what the next may not touch, the unit is cleaned in between, for its minutes. */
export function checkCleaning(facts: Facts, rule: Rule, unit: string, minutes: number, uses: Soiling[]): void {
  if (minutes === 0) return;
  const sorted = ordered(uses, byStart);
  const kinds = new Kinds(sorted);
  if (kinds.areAlike) return;
  const cleans = cleansOn(facts, unit);
  for (let i = 0; i < sorted.length; i++) {
    const next = sorted[i]!;
    const { start: begins } = next.fact;
    const nextKind = kinds.of[i]!;
    // When the latest cleaning that ends before the use began: what was over by then is gone.
    let cleanedAt = Number.NEGATIVE_INFINITY;
    for (const { start, end } of cleans)
      if (end <= begins && start > cleanedAt && end - start >= minutes) cleanedAt = start;
    for (let k = 0; k < i; k++) {
      const last = sorted[k]!;
      if (cleanedAt >= last.fact.end) continue;
      const lastKind = kinds.of[k]!;
      const isLeft = kinds.leaves(lastKind, nextKind) || (last.fact.end > begins && kinds.leaves(nextKind, lastKind));
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
