import type { Draft } from "../draft.js";
import { recreate } from "../recreate.js";
import type { Move } from "./move.js";

/**
 * Two loads that take the same room on a heater trade places where less is early or late that way. Of a large day most other changes of so few
 * loads put everything back where it was.
 */
export const trade: Move = {
  name: "trade",
  apply(draft: Draft): boolean {
    const { rng, model, state } = draft;
    const load = rng.below(model.loads.length);
    if (state.mode[load]! < 0 || model.loads[load]!.pinned) return false;
    const partner = draft.alike.partner(draft, load);
    if (partner < 0) return false;
    draft.removeWithMix(load);
    draft.removeWithMix(partner);
    // The one that bakes sooner is too early there, or the other too late: it goes first, or both would go back.
    const first = draft.anchorBefore(load) < draft.anchorBefore(partner) ? load : partner;
    const isMixed = state.mixOption[model.loads[first]!.batch]! >= 0;
    if (isMixed && !draft.insert(first, state.dropCost[first]!)) return false;
    return recreate(draft);
  },
};
