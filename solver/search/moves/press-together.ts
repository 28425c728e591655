import type { Draft } from "../draft.js";
import type { Move } from "./move.js";
import { loadsOnHeater } from "./on-heater.js";

/** The most loads that are moved in one change. */
const MOST = 12;

/**
 * Closes a gap on a heater: what follows it comes sooner, or what precedes it later, in the order in which it was and on the same heater. A heater is paid for from its
 * first load to its last whatever lies between, so a gap in the middle costs nothing to mend and gains nothing until all that follows has moved up.
 */
export const pressTogether: Move = {
  name: "press together",
  apply(draft: Draft): boolean {
    const { rng, model } = draft;
    const row = draft.anchorRow(rng.below(model.loads.length));
    if (row < 0) return false;
    const heater = model.heaterOfRow[row]!;
    const on = loadsOnHeater(draft, heater);
    const gaps = gapsAmong(draft, heater, on);
    if (gaps.length === 0) return false;
    const from = gaps[rng.below(gaps.length)]!;
    const isSooner = from >= on.length / 2;
    const moved = isSooner ? on.slice(from) : on.slice(0, from).reverse();
    if (moved.length > MOST) return false;
    for (const load of moved) draft.removeLoad(load);
    return putInOrder(draft, moved, heater, !isSooner);
  },
};

/** Where a load begins after all before it have ended: its place among them. */
function gapsAmong(draft: Draft, heater: number, on: readonly number[]): number[] {
  const { heaters } = draft.state;
  const gaps: number[] = [];
  let until = -1;
  const first = heaters.from(heater);
  for (let i = 0; i < on.length; i++) {
    if (i > 0 && heaters.starts[first + i]! > until) gaps.push(i);
    until = Math.max(until, heaters.ends[first + i]!);
  }
  return gaps;
}

function putInOrder(draft: Draft, loads: readonly number[], heater: number, prefersLate: boolean): boolean {
  const { state } = draft;
  const { choice } = draft.inserter;
  let pending = 0;
  for (const load of loads) pending += draft.shortShare * state.dropCost[load]!;
  choice.prefersLate = prefersLate;
  choice.firstAlternative = 0;
  for (const load of loads) {
    const room = draft.limit - (draft.energy - pending);
    pending -= draft.shortShare * state.dropCost[load]!;
    const below = Math.min(state.dropCost[load]!, room);
    choice.onlyHeater = heater;
    const isPut = room > 0 && draft.insert(load, below);
    choice.onlyHeater = -1;
    if (!isPut && !(room > 0 && draft.insert(load, below))) return false;
  }
  draft.tidy();
  return true;
}
