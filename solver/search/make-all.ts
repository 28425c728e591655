import type { AnnealResult } from "./anneal.js";
import type { Draft } from "./draft.js";
import { atRandom } from "./moves/at-random.js";
import { someUnmade } from "./moves/by-force.js";
import { deckString } from "./moves/deck-string.js";
import { drawMove, type Moves } from "./moves/draw-move.js";
import { eject } from "./moves/eject.js";
import { mixMove } from "./moves/mix-move.js";
import { mixSwap } from "./moves/mix-swap.js";
import { nearInTime } from "./moves/near-in-time.js";
import { wholeBatch } from "./moves/whole-batch.js";
import { copyPlan } from "./plan.js";

export interface MakeAllOptions {
  /** How far the budget is used up, 0..1; asked every so often, with how many loads are not made in the best plan. 1 ends the search. */
  readonly progress: (iterations: number, unmade: number) => number;
  /** Loads that no plan makes: they are not gone at, and the search ends without them. */
  readonly hopeless?: ReadonlySet<number>;
  /** Moves that are drawn between goes at what is not made. */
  readonly shuffles?: Moves;
  /** What a load that could not be put weighs more from then on, as a share of its weight at first. */
  readonly heavier?: number;
}

const NONE: ReadonlySet<number> = new Set();

/** Moves that shuffle what is made, so that gaps come to lie together, and how often each is drawn. */
export const SHUFFLES: Moves = [
  [nearInTime, 40],
  [deckString, 14],
  [wholeBatch, 10],
  [atRandom, 12],
  [mixMove, 10],
  [mixSwap, 4],
];
/** How fast loads get heavier where all must be made in the end: much faster, and fewer trials end with all made. */
const HEAVIER = 0.006;
/** The temperature, as a share of what a load weighs on average: changes of setpoint come and go, loads do not. */
const WARM = 0.01;

/**
 * Searches for a plan that makes every load, little else counting. Loads that are hard to put get heavier with every failure, so that easier ones make
 * way for them and are tried in turn (breakout: Morris, AAAI 1993). Half of the tries put a load in by force (`eject`), half shuffle what is made. Ends with
 * the first plan that makes all; else the best is the plan in which what is not made weighs least by the model.
 */
export function makeAll(
  draft: Draft,
  { progress, hopeless = NONE, shuffles = SHUFFLES, heavier = HEAVIER }: MakeAllOptions,
): AnnealResult {
  const { state, model, rng } = draft;
  state.leavePlentiful();
  const best = copyPlan(state);
  let unmade = countUnmade(draft);
  best.cost = unmade.cost;
  let fewest = unmade.count;
  let iterations = 0;
  draft.shortShare = 1;
  const temperature = (WARM * model.loads.reduce((sum, { dropCost }) => sum + dropCost, 0)) / model.loads.length;
  let least = 0;
  for (const load of hopeless) least += model.loads[load]!.dropCost;
  while (best.cost > least) {
    if (iterations % 16 === 0 && progress(iterations, fewest) >= 1) break;
    iterations++;
    const short = state.shortCost;
    draft.limit = draft.energy - temperature * Math.log(1 - rng.unit());
    const load = short > 0 && rng.below(2) === 0 ? someUnmade(draft, hopeless) : -1;
    const isMade = load >= 0 ? eject(draft, load) : drawMove(shuffles, rng).apply(draft);
    if (!isMade || !draft.leadsClear() || draft.energy > draft.limit) {
      draft.reject();
      if (load >= 0) state.reweigh(load, Math.round(state.dropCost[load]! + heavier * model.loads[load]!.dropCost));
      continue;
    }
    draft.accept();
    if (state.shortCost === short) continue;
    unmade = countUnmade(draft);
    if (unmade.cost >= best.cost) continue;
    copyPlan(state, best);
    best.cost = unmade.cost;
    fewest = unmade.count;
  }
  draft.limit = Number.POSITIVE_INFINITY;
  return { best, iterations };
}

/** What is not made, by the model's own weights. */
function countUnmade({ state, model }: Draft): { count: number; cost: number } {
  let count = 0;
  let cost = 0;
  for (let load = 0; load < model.loads.length; load++) {
    if (state.mode[load]! >= 0) continue;
    count++;
    cost += model.loads[load]!.dropCost;
  }
  return { count, cost };
}
