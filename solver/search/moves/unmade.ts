import type { Draft } from "../draft.js";
import { recreate } from "../recreate.js";
import type { Move } from "./move.js";

/** A load that is not made, with loads that bake when it would have to: room is made for it first. */
export const unmade: Move = {
  name: "unmade",
  apply(draft: Draft): boolean {
    const { rng, model, state } = draft;
    const count = model.loads.length;
    let load = rng.below(count);
    for (let i = 0; i < count && state.mode[load]! >= 0; i++) load = (load + 1) % count;
    if (state.mode[load]! >= 0) return false;
    const zoneTo = draft.bounds.of(load)[0]!.zoneTo;
    draft.removeLoad(load);
    if (rng.below(3) === 0) draft.removeBatch(model.loads[load]!.batch);
    const wanted = 1 + rng.below(8);
    for (let tries = 0, taken = 0; tries < 10 * wanted && taken < wanted; tries++) {
      const other = rng.below(count);
      if (state.mode[other]! < 0 || Math.abs(state.finish[other]! - zoneTo) > 120) continue;
      draft.removeLoad(other);
      taken++;
    }
    return recreate(draft);
  },
};
