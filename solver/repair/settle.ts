import type { Draft } from "../search/draft.js";
import { settleLoads, settleMixes } from "../search/home.js";
import { place } from "./place.js";

/** The plan in force as far as it can still be had: what has begun, then what the planner holds, then the rest. Gives back what is left waiting. */
export function settle(draft: Draft): number[] {
  const { model } = draft;
  settleMixes(draft);
  const isHeld = (load: number): boolean => model.loads[load]!.pinned;
  const isBegun = (load: number): boolean => model.batches[model.loads[load]!.batch]!.pinned && !isHeld(load);
  const lost = settleLoads(draft, isBegun);
  const stuck = settleLoads(draft, isHeld).filter((load) => {
    place(draft, load);
    return draft.state.mode[load]! < 0;
  });
  const waiting = stuck.length > 0 ? giveWay(draft, stuck, isBegun) : lost;
  return [...waiting, ...settleLoads(draft, (load) => !isBegun(load) && !isHeld(load))];
}

/** Held loads that found no place get one before all that is not held, the ways on of what has begun too; those then go home as far as they still can. */
function giveWay(draft: Draft, stuck: readonly number[], isBegun: (load: number) => boolean): number[] {
  const { model, state } = draft;
  model.loads.forEach(({ pinned }, load) => {
    if (!pinned && state.mode[load]! >= 0) state.lift(load);
  });
  model.batches.forEach((_, batch) => {
    if (state.placedOfBatch[batch] === 0 && state.mixOption[batch]! >= 0) state.liftMix(batch);
  });
  for (const load of stuck) {
    const { batch, dropCost } = model.loads[load]!;
    if (state.mixOption[batch]! >= 0) draft.insert(load, dropCost);
    else draft.insertWithMix(load, dropCost);
  }
  settleMixes(draft);
  return [...stuck.filter((load) => state.mode[load]! < 0), ...settleLoads(draft, isBegun)];
}
