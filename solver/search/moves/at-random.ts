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
      const load = rng.below(model.loads.length);
      // A load that has its batch to itself takes its mix along.
      const { batch } = model.loads[load]!;
      if (model.batches[batch]!.loads.length === 1) draft.removeBatch(batch);
      else draft.removeLoad(load);
    }
    recreate(draft);
    return true;
  },
};
