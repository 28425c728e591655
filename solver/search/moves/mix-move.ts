import type { Draft } from "../draft.js";
import type { Move } from "./move.js";

/** A mix moves under loads that stay: later, so that its tubs stand for less time, or to where a shift opens. */
export const mixMove: Move = {
  name: "mix move",
  apply(draft: Draft): boolean {
    const { rng, state, model } = draft;
    const batch = rng.below(model.batches.length);
    const option = state.mixOption[batch]!;
    if (option < 0) return false;
    const aim = rng.below(2) === 0 ? "latest" : "opening";
    if (!draft.mixes.pick(batch, aim, rng) || draft.mixes.start === state.mixStart[batch]) return false;
    const target = model.batches[batch]!.options[draft.mixes.option]!;
    if (target.site !== model.batches[batch]!.options[option]!.site) return false;
    return draft.moveMix(batch, draft.mixes.option, draft.mixes.start, draft.mixes.crewRow);
  },
};
