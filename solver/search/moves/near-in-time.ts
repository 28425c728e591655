import type { Draft } from "../draft.js";
import { recreate } from "../recreate.js";
import type { Move } from "./move.js";

/** Loads that bake at about the same time compete for the same decks, people and racks. */
export const nearInTime: Move = {
  name: "near in time",
  apply(draft: Draft): boolean {
    const { rng, model, state } = draft;
    const count = model.loads.length;
    const seed = rng.below(count);
    const at = state.mode[seed]! >= 0 ? draft.anchorStart(seed) : draft.bounds.of(seed)[0]!.zoneTo;
    const wanted = 2 + rng.below(Math.min(9, count));
    const reach = 5 << rng.below(7);
    draft.removeWithMix(seed);
    for (let tries = 0, taken = 1; tries < 8 * wanted && taken < wanted; tries++) {
      const load = rng.below(count);
      if (state.mode[load]! < 0 || Math.abs(draft.anchorStart(load) - at) > reach) continue;
      draft.removeWithMix(load);
      taken++;
    }
    return recreate(draft);
  },
};
