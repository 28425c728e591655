import type { Draft } from "./draft.js";
import { atRandom } from "./moves/at-random.js";
import { deckString } from "./moves/deck-string.js";
import { drawMove, type Moves } from "./moves/draw-move.js";
import { heaterEdge } from "./moves/heater-edge.js";
import { mixMove } from "./moves/mix-move.js";
import { mixSwap } from "./moves/mix-swap.js";
import type { Move } from "./moves/move.js";
import { nearInTime } from "./moves/near-in-time.js";
import { otherHeater } from "./moves/other-heater.js";
import { trade } from "./moves/trade.js";
import { unmade } from "./moves/unmade.js";
import { wholeBatch } from "./moves/whole-batch.js";
import { copyPlan, type PlanCopy } from "./plan.js";
import { type ChangeLog, Together } from "./together.js";

const MOVES: Moves = [
  [nearInTime, 40],
  [deckString, 14],
  [heaterEdge, 24],
  [wholeBatch, 14],
  [atRandom, 12],
  [mixMove, 6],
  [mixSwap, 4],
  [trade, 15],
  [otherHeater, 20],
];

export interface Cooling {
  /** Start and end temperature as a share of the mean cost of a made load. */
  readonly hot: number;
  readonly cold: number;
  /** What a short load counts while accepting, as a share of its cost: a cliff would hold the annealer. */
  readonly shortShare: number;
  /** What a setpoint change counts for in the beginning where it costs less, as a share of lighting the heater anew; less and less, from `STEERED_UNTIL` on its cost. Default 0. */
  readonly steered?: number;
  /** How a load that is not made is gone at. */
  readonly forUnmade?: Moves;
  /** What loads that no plan makes cost: when nothing else is short, nothing is gone at. */
  readonly sureShort?: number;
}

export interface AnnealOptions extends Cooling {
  /** Asked with each progress until it gives a log: from then on the plan is searched together with others that share it. The best plan is then the best that was reached by a change of this search. */
  readonly log?: (() => ChangeLog | undefined) | undefined;
  /** How far the budget is used up, 0..1; asked every so often. 1 ends the search. */
  readonly progress: (iterations: number) => number;
  /** Called whenever a better plan is found. */
  readonly onBetter?: (plan: PlanCopy, iterations: number) => void;
}

export interface AnnealResult {
  readonly best: PlanCopy;
  readonly iterations: number;
}

/** By when, as a share of the budget, plans are no longer steered. */
const STEERED_UNTIL = 0.5;

/** While something is not made, one try in so many goes at it. */
const UNMADE_EVERY = 3;

function draw(draft: Draft, { forUnmade, sureShort = 0 }: AnnealOptions): Move {
  if (draft.state.shortCost > sureShort && draft.rng.below(UNMADE_EVERY) === 0)
    return forUnmade ? drawMove(forUnmade, draft.rng) : unmade;
  return drawMove(MOVES, draft.rng);
}

/**
 * Ruin and recreate under simulated annealing: worse plans are accepted with a chance that falls as time goes by. While it is hot, changes of setpoint can be made to
 * count for more than they cost, so that plans of few and long runs are what is left when they freeze: loads that move one by one do not join runs later.
 */
export function anneal(draft: Draft, options: AnnealOptions): AnnealResult {
  const { state, model, rng } = draft;
  state.leavePlentiful();
  const best = copyPlan(state);
  const made = Math.max(1, model.loads.length);
  draft.shortShare = options.shortShare;
  let iterations = 0;
  let temperature = 0;
  const { steered = 0, sureShort = 0 } = options;
  if (model.loads.length === 0) return { best, iterations };
  const together = new Together(draft, options.log);
  let current = draft.energy;
  for (;;) {
    if (iterations % 16 === 0) {
      const progress = options.progress(iterations);
      if (progress >= 1) break;
      if (together.at(progress)) current = draft.energy;
      const scale = Math.max(1, (state.cost - state.shortCost) / made);
      temperature = scale * options.hot * (options.cold / options.hot) ** progress;
      // While something is not made, it must be free to join wherever it can.
      const share = state.shortCost > sureShort ? 0 : steered * Math.max(0, 1 - progress / STEERED_UNTIL);
      if (share !== state.heaters.steeredBy) {
        state.heaters.steer(share);
        current = draft.energy;
      }
    }
    if (together.catchUp()) current = draft.energy;
    iterations++;
    const before = state.cost;
    // Drawn beforehand, so that a change can be given up as soon as it has become too dear.
    draft.limit = current - temperature * Math.log(1 - rng.unit());
    if (!draw(draft, options).apply(draft) || !draft.leadsClear() || draft.energy > draft.limit) {
      draft.reject();
      continue;
    }
    if (!together.agree()) {
      current = draft.energy;
      continue;
    }
    draft.accept();
    current = draft.energy;
    if (state.cost < best.cost && state.cost < before) {
      copyPlan(state, best);
      options.onBetter?.(best, iterations);
    }
  }
  together.leave();
  draft.limit = Number.POSITIVE_INFINITY;
  if (state.heaters.steeredBy > 0) state.heaters.steer(0);
  return { best, iterations };
}
