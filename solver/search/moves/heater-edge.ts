import type { Draft } from "../draft.js";
import { recreate } from "../recreate.js";
import type { Move } from "./move.js";
import { loadsOnHeater, someHeater } from "./on-heater.js";

/** Loads beyond which a heater's day is too much to move in one change. */
const WHOLE_DAY = 14;

/** The first or last loads of a heater, or its whole day, move to other heaters: so it is lit later, put out earlier, or not lit. */
export const heaterEdge: Move = {
  name: "heater edge",
  apply(draft: Draft): boolean {
    const { rng } = draft;
    const heater = someHeater(draft);
    if (heater < 0) return false;
    const on = loadsOnHeater(draft, heater);
    const isWhole = on.length <= WHOLE_DAY && rng.below(3) === 0;
    const length = isWhole ? on.length : Math.min(on.length, 1 + rng.below(5));
    const from = isWhole || rng.below(2) === 0 ? 0 : on.length - length;
    for (let i = from; i < from + length; i++) draft.removeWithMix(on[i]!);
    draft.inserter.choice.barredHeater = heater;
    return recreate(draft);
  },
};
