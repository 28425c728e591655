import { type AnnealResult, anneal, type Cooling } from "./anneal.js";
import type { Draft } from "./draft.js";
import { adoptPlan, copyPlan, type PlanCopy } from "./plan.js";
import type { ChangeLog } from "./together.js";

export interface ImproveOptions {
  /** How far the budget is used up, 0..1, after so many tries; asked every so often. 1 ends the search. */
  readonly progress: (iterations: number) => number;
  /** Shared with other searches of the same model: large days are searched together. */
  readonly log?: ChangeLog | undefined;
  /** Called whenever a better plan than any before is found. */
  readonly onBetter?: (plan: PlanCopy, iterations: number) => void;
}

/** Cooled more slowly than so many tries a load, a plan gains less than from another start. */
const SLOWEST = 4000;
/** See Cooling. With fewer loads than this there are hardly runs to join, and steering only hinders. */
const STEERED = 1.2;
const LEAST_STEERED = 30;
/** Fewer loads freeze into one of many structures, of which two searches see two. */
const LEAST_TOGETHER = 100;
/** Tries after which it is known how many there will be. */
const SOUNDING = 256;

/**
 * How plans of so many loads are cooled. The plan of a large day that construction left is worth keeping: heat that a small day needs to get away from its first plan
 * costs a large one more than its budget mends.
 */
export function coolingFor(loads: number): Cooling {
  const steered = loads < LEAST_STEERED ? 0 : STEERED;
  return { hot: Math.min(1.5, Math.max(0.8, 120 / loads)), cold: 0.03, shortShare: 0.25, steered };
}

/** Improves the plan at hand until the budget is used up: cooled once, or, where there is time for more, several times from the same plan, of which the best stands. */
export function improve(draft: Draft, options: ImproveOptions): AnnealResult {
  const loads = draft.model.loads.length;
  const cooling = coolingFor(loads);
  const first = copyPlan(draft.state);
  const begun = options.progress(0);
  let rounds = 1;
  let isKnown = false;
  let best = first;
  let leastCost = first.cost;
  let iterations = 0;
  let isOver = false;
  // With time for more than one cooling each goes its own way.
  const isTogether = (): boolean => isKnown && rounds === 1 && loads >= LEAST_TOGETHER;
  for (let round = 0; round < rounds && !isOver; round++) {
    if (round > 0) {
      adoptPlan(draft.state, first);
      draft.accept();
    }
    const before = iterations;
    const progress = (tries: number): number => {
      const done = options.progress(before + tries);
      isOver = done >= 1;
      if (isOver) return 1;
      const used = (done - begun) / (1 - begun);
      if (!isKnown && tries >= SOUNDING && used > 0) {
        rounds = Math.max(1, Math.round(tries / used / (SLOWEST * loads)));
        isKnown = true;
      }
      return used * rounds - round;
    };
    const result = anneal(draft, {
      ...cooling,
      progress,
      log: () => (isTogether() ? options.log : undefined),
      onBetter: (plan, tries) => {
        // A round's best plan is one object that changes.
        if (plan.cost >= leastCost) return;
        best = plan;
        leastCost = plan.cost;
        options.onBetter?.(plan, before + tries);
      },
    });
    iterations += result.iterations;
  }
  return { best, iterations };
}
