import type { Draft } from "../search/draft.js";
import { settleLoads, settleMixes } from "../search/home.js";
import { place } from "./place.js";

/** Loads as they are settled: those whose batch has begun, those that the planner holds, the rest. */
interface Turns {
  readonly begun: number[];
  readonly held: number[];
  readonly rest: number[];
}

function turnsOf({ model }: Draft): Turns {
  const turns: Turns = { begun: [], held: [], rest: [] };
  for (let load = 0; load < model.loads.length; load++) {
    const { pinned, batch } = model.loads[load]!;
    if (pinned) turns.held.push(load);
    else if (model.batches[batch]!.pinned) turns.begun.push(load);
    else turns.rest.push(load);
  }
  return turns;
}

/** The plan in force as far as it can still be had: what has begun, then what the planner holds, then the rest. Gives back what is left waiting. */
export function settle(draft: Draft): number[] {
  settleMixes(draft);
  const { begun, held, rest } = turnsOf(draft);
  const lost = settleLoads(draft, begun);
  const stuck: number[] = [];
  for (const load of settleLoads(draft, held)) {
    place(draft, load);
    if (draft.state.mode[load]! < 0) stuck.push(load);
  }
  const waiting = stuck.length > 0 ? giveWay(draft, stuck, begun) : lost;
  return [...waiting, ...settleLoads(draft, rest)];
}

/** Held loads that found no place get one before all that is not held, the ways on of what has begun too; those then go home as far as they still can. */
function giveWay(draft: Draft, stuck: readonly number[], begun: readonly number[]): number[] {
  const { model, state } = draft;
  for (let load = 0; load < model.loads.length; load++)
    if (!model.loads[load]!.pinned && state.mode[load]! >= 0) state.lift(load);
  for (let batch = 0; batch < model.batches.length; batch++)
    if (state.placedOfBatch[batch] === 0 && state.mixOption[batch]! >= 0) state.liftMix(batch);
  for (const load of stuck) {
    const { batch, dropCost } = model.loads[load]!;
    if (state.mixOption[batch]! >= 0) draft.insert(load, dropCost);
    else draft.insertWithMix(load, dropCost);
  }
  settleMixes(draft);
  return [...stuck.filter((load) => state.mode[load]! < 0), ...settleLoads(draft, begun)];
}
