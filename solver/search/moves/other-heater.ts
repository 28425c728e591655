import { putChain } from "../chain.js";
import type { Draft } from "../draft.js";
import { MAX_OPERATIONS } from "../model.js";
import { recreate } from "../recreate.js";
import type { Move } from "./move.js";
import { loadsOnHeater, someHeater } from "./on-heater.js";

/** A change that leaves more than so many loads without a place is not begun; when a heater is cleared besides, somewhat more. */
const MOST_MISFITS = 1;
const MOST_MISFITS_CLEARING = 3;
/** Of the changes of a part of the day one in so many clears the rest of the other heater's, if it is no more than so many loads. */
const CLEAR_EVERY = 3;
const MOST_CLEARED = 12;

/**
 * Two heaters do each other's work, of the whole day or before or after some minute, at the same minutes; what does not fit is put anew. Now and then what the other
 * does the rest of the day goes elsewhere too, so that it is lit for its new work only. Loads that move one by one never light a large deck instead of two small
 * ones, nor have one deck do the evening of another: each alone would pay for the lighting.
 */
export const otherHeater: Move = {
  name: "other heater",
  apply(draft: Draft): boolean {
    const { rng, model } = draft;
    const heater = someHeater(draft);
    if (heater < 0) return false;
    const other = rng.below(model.heaters.length);
    if (other === heater) return false;
    const mine = loadsOnHeater(draft, heater);
    const theirs = loadsOnHeater(draft, other);
    if (rng.below(2) === 0) {
      if (draft.heaterKinds[heater] === draft.heaterKinds[other]) return false;
      return exchange(draft, [heater, mine], [other, theirs], []);
    }
    const at = draft.anchorStart(mine[rng.below(mine.length)]!);
    const isAfter = rng.below(2) === 0;
    const isInside = (load: number): boolean => draft.anchorStart(load) >= at === isAfter;
    const clears = rng.below(CLEAR_EVERY) === 0;
    const cleared = clears ? theirs.filter((load) => !isInside(load)) : [];
    if (clears && (cleared.length === 0 || cleared.length > MOST_CLEARED)) return false;
    return exchange(draft, [heater, mine.filter(isInside)], [other, theirs.filter(isInside)], cleared);
  },
};

type Work = readonly [heater: number, loads: readonly number[]];

/** Some work of two heaters changes places, and what is cleared goes to some other than the second. */
function exchange(draft: Draft, [heater, mine]: Work, [other, theirs]: Work, cleared: readonly number[]): boolean {
  const most = cleared.length > 0 ? MOST_MISFITS_CLEARING : MOST_MISFITS;
  if (misfits(draft, mine, other) + misfits(draft, theirs, heater) > most) return false;
  for (const load of mine) draft.removeLoad(load);
  for (const load of theirs) draft.removeLoad(load);
  for (const load of mine) putOn(draft, load, other);
  for (const load of theirs) putOn(draft, load, heater);
  for (const load of cleared) draft.removeWithMix(load);
  if (cleared.length > 0) draft.inserter.choice.barredHeater = other;
  return recreate(draft);
}

/** How many loads, given by start, would find no room on a heater that has nothing else to do. */
function misfits(draft: Draft, loads: readonly number[], heater: number): number {
  const { state, model } = draft;
  const ends: number[] = [];
  const amounts: number[] = [];
  let count = 0;
  for (const load of loads) {
    const place = placeOn(draft, load, heater);
    if (place < 0) {
      count++;
      continue;
    }
    const { anchor, operations } = model.loads[load]!.modes[state.mode[load]!]!;
    const { row, minutes, amount } = operations[anchor]!.alternatives[place]!;
    const start = draft.anchorStart(load);
    let room = model.capacity[row * state.horizon + start]!;
    for (let i = 0; i < ends.length; i++) if (ends[i]! > start) room -= amounts[i]!;
    if (room < amount) count++;
    else {
      ends.push(start + minutes);
      amounts.push(amount);
    }
  }
  return count;
}

/** The alternative on a heater on which a load takes as many minutes as it does or did, or -1. */
function placeOn({ state, model }: Draft, load: number, heater: number, m = state.mode[load]!): number {
  const mode = model.loads[load]!.modes[m]!;
  const { alternatives } = mode.operations[mode.anchor]!;
  const { minutes } = alternatives[state.alternative[load * MAX_OPERATIONS + mode.anchor]!]!;
  for (let a = 0; a < alternatives.length; a++) {
    const own = alternatives[a]!;
    if (own.minutes === minutes && model.heaterOfRow[own.row] === heater) return a;
  }
  return -1;
}

/** Puts a lifted load where it was, but for its heater, if there is room. */
function putOn(draft: Draft, load: number, heater: number): void {
  const { state, model } = draft;
  // What is locked was not lifted.
  if (state.mode[load]! >= 0) return;
  const { modes, batch } = model.loads[load]!;
  const m = draft.modeBefore(load);
  const alternative = placeOn(draft, load, heater, m);
  if (alternative < 0) return;
  const { anchor, operations } = modes[m]!;
  const at = load * MAX_OPERATIONS + anchor;
  const { row, minutes, amount } = operations[anchor]!.alternatives[alternative]!;
  const start = state.start[at]!;
  if (!state.fits(row, start, start + minutes, amount)) return;
  state.alternative[at] = alternative;
  if (!putChain(state, load, m, draft.finishBefore(load), state.mixEnd(batch))) state.abandon(load);
}
