import type { Draft } from "../draft.js";
import { recreate } from "../recreate.js";
import type { Move } from "./move.js";

/** Two batches change places on the mixers, and their loads are put anew. */
export const mixSwap: Move = {
  name: "mix swap",
  apply(draft: Draft): boolean {
    const { rng, state, model } = draft;
    const count = model.batches.length;
    const a = rng.below(count);
    const b = rng.below(count);
    if (model.batches[a]!.pinned || model.batches[b]!.pinned) return false;
    if (a === b || state.mixOption[a]! < 0 || state.mixOption[b]! < 0) return false;
    const startA = state.mixStart[a]!;
    const startB = state.mixStart[b]!;
    draft.removeBatch(a);
    draft.removeBatch(b);
    const placedA = placeNear(draft, a, startB);
    const placedB = placeNear(draft, b, startA);
    if (!placedA || !placedB) return false;
    return recreate(draft);
  },
};

/** Mixes the batch on any option at the minute given, if that is free. */
function placeNear(draft: Draft, batch: number, start: number): boolean {
  const { state, model, mixes } = draft;
  const options = model.batches[batch]!.options;
  for (let o = 0; o < options.length; o++) {
    const { row, minutes, crew, from, to } = options[o]!;
    if (start < from || start > to || !state.fits(row, start, start + minutes, 1)) continue;
    const crewRow = crew ? state.crewFor(crew, start, start + minutes) : -1;
    if (crew && crewRow < 0) continue;
    mixes.option = o;
    mixes.start = start;
    mixes.crewRow = crewRow;
    draft.mix(batch);
    return true;
  }
  return false;
}
