import type { Draft } from "../draft.js";
import { recreate } from "../recreate.js";
import type { Move } from "./move.js";

/** A few loads from anywhere. */
export const atRandom: Move = {
  name: "at random",
  apply(draft: Draft): boolean {
    const { rng, model } = draft;
    const count = 1 + rng.below(Math.min(8, model.loads.length));
    for (let i = 0; i < count; i++) {
      draft.removeWithMix(rng.below(model.loads.length));
    }
    return recreate(draft);
  },
};
