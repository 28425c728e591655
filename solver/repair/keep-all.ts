import { createRng } from "../rng.js";
import { Draft } from "../search/draft.js";
import { settleLoads, settleMixes } from "../search/home.js";
import { makeAll, SHUFFLES } from "../search/make-all.js";
import type { SearchModel } from "../search/model.js";
import type { Moves } from "../search/moves/draw-move.js";
import { unmade as roomFor } from "../search/moves/unmade.js";
import { copyPlan, rebuild } from "../search/plan.js";
import { blamedFirst } from "./blamed-first.js";

/** Often enough what is not made only wants room among its neighbours in time: nothing has to be thrown out for it. */
const WITH_ROOM_MADE: Moves = [...SHUFFLES, [roomFor, 45]];

/** A repair has little time, and the most that can be made of a morning counts, not all of it: loads get heavier faster than where all must be made. */
const HEAVIER = 0.03;

/** Of the time for it, so much at most goes to putting all anew with what is lost first. */
const ANEW_SHARE = 0.06;
/** A round of that counts as so many tries by force, which take about as long. */
const ROUND_TRIES = 8;

/**
 * Before anything is saved on moves or money, what the first plan has no place for is made by force. What stands in its way is seldom what bakes when it would:
 * with a person missing in the evening it is what others shape and mix then, for bakes that lie hours apart, and moves that lift what bakes together do not
 * find it. Gives back a draft to go on from (the one given, unless a better plan was found), and what loads cost that nothing can save. `progress` as in the search.
 */
export function keepAll(draft: Draft, progress: (iterations: number) => number): { draft: Draft; sureShort: number } {
  const { model, state, rng } = draft;
  const lost = model.loads.map((_, load) => load).filter((load) => state.mode[load]! < 0);
  if (lost.length === 0 || progress(0) >= 1) return { draft, sureShort: 0 };
  const hopeless = new Set(withoutPlace(model, lost));
  let sureShort = 0;
  for (const load of hopeless) sureShort += model.loads[load]!.dropCost;
  if (hopeless.size === lost.length) return { draft, sureShort };
  const tries =
    ROUND_TRIES * blamedFirst(draft, { hopeless, isOver: (rounds) => progress(ROUND_TRIES * rounds) >= ANEW_SHARE });
  const before = copyPlan(state);
  const { best } = makeAll(draft, {
    progress: (iterations) => progress(tries + iterations),
    hopeless,
    shuffles: WITH_ROOM_MADE,
    heavier: HEAVIER,
  });
  // By what the model says that a load is worth: while it is gone at it grows heavier.
  const found = rebuild(model, best);
  return { draft: new Draft(model, rng, found.cost < before.cost ? found : rebuild(model, before)), sureShort };
}

/** Those loads that find no place for less than they are worth even in a kitchen that makes nothing else but what has begun and what is held: whatever gives way, they are lost. */
export function withoutPlace(model: SearchModel, loads: readonly number[]): number[] {
  const empty = new Draft(model, createRng(1));
  settleMixes(empty);
  model.batches.forEach(({ pinned }, batch) => {
    if (!pinned && empty.state.mixOption[batch]! >= 0) empty.state.liftMix(batch);
  });
  settleLoads(empty, pinnedLoads(model));
  empty.accept();
  return loads.filter((load) => {
    const { batch, dropCost } = model.loads[load]!;
    const isMixed = empty.state.mixOption[batch]! >= 0;
    const isPut = isMixed ? empty.insert(load, dropCost) : empty.insertWithMix(load, dropCost);
    empty.reject();
    return !isPut;
  });
}

function pinnedLoads({ loads }: SearchModel): number[] {
  const pinned: number[] = [];
  for (let load = 0; load < loads.length; load++) if (loads[load]!.pinned) pinned.push(load);
  return pinned;
}
