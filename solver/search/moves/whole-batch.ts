import type { Draft } from "../draft.js";
import { recreate } from "../recreate.js";
import type { Move } from "./move.js";

/** A batch with its mix and all its loads, sometimes two: shelves are freed only by moving mixes. */
export const wholeBatch: Move = {
  name: "whole batch",
  apply(draft: Draft): boolean {
    const { rng, model } = draft;
    const count = model.batches.length;
    draft.removeBatch(rng.below(count));
    if (count > 1 && rng.below(3) === 0) draft.removeBatch(rng.below(count));
    return recreate(draft);
  },
};
