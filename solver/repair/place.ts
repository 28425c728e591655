import type { Draft } from "../search/draft.js";
import { mixAtHome } from "../search/home.js";

/** Puts a load, and mixes its batch if need be, where it costs least. */
export function place(draft: Draft, load: number): void {
  const { model, state, mixes, rng } = draft;
  const { batch, dropCost } = model.loads[load]!;
  if (state.mixOption[batch]! < 0 && !mixAtHome(draft, batch)) {
    if (draft.insertWithMix(load, dropCost)) return;
    if (!mixes.pick(batch, "anywhere", rng)) return;
    draft.mix(batch);
  }
  draft.insert(load, dropCost);
}
