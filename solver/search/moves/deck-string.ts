import type { Draft } from "../draft.js";
import { recreate } from "../recreate.js";
import type { Move } from "./move.js";
import { loadsOnHeater, someHeater } from "./on-heater.js";

/** A run of consecutive loads on one heater, sometimes the heater's whole day: the way to switch a deck off. */
export const deckString: Move = {
  name: "deck string",
  apply(draft: Draft): boolean {
    const { rng } = draft;
    const heater = someHeater(draft);
    if (heater < 0) return false;
    const on = loadsOnHeater(draft, heater);
    const length = Math.min(on.length, 2 + rng.below(8));
    const from = rng.below(on.length - length + 1);
    for (let i = from; i < from + length; i++) draft.removeWithMix(on[i]!);
    return recreate(draft);
  },
};
