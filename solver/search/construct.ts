import type { Draft } from "./draft.js";

/** Everything pinned is first put back as it was; what cannot be is put wherever its locks allow. */
function placePinned(draft: Draft): void {
  const { model, state, rng } = draft;
  const asItWas = 1;
  for (const modes of [asItWas, -1]) {
    for (let load = 0; load < model.loads.length; load++) {
      const { pinned, batch } = model.loads[load]!;
      if (!pinned || state.mode[load]! >= 0) continue;
      if (state.mixOption[batch]! < 0) {
        if (!draft.mixes.pick(batch, "latest", rng, 0) && !draft.mixes.pick(batch, "latest", rng)) continue;
        draft.mix(batch);
      }
      draft.insert(load, model.loads[load]!.dropCost, modes);
    }
  }
}

/**
 * A first plan: loads by the time they are due, each where it costs least, its batch mixed when the first of them comes up. Mixes are
 * spread over their windows: all as late as will do leaves the loads of a whole batch waiting for the same minutes.
 */
export function construct(draft: Draft): void {
  const { model, bounds, state } = draft;
  placePinned(draft);
  const due = (load: number): number => bounds[load]![0]!.zoneTo;
  const order = model.loads.map((_, load) => load).sort((a, b) => due(a) - due(b) || a - b);
  for (const load of order) {
    if (state.mode[load]! >= 0) continue;
    const { batch, dropCost } = model.loads[load]!;
    if (state.mixOption[batch]! < 0) {
      if (!mixSomewhere(draft, batch)) continue;
      draft.mix(batch);
    }
    draft.insert(load, dropCost);
  }
  draft.tidy();
  draft.accept();
}

/** Picks a slot on a mixer of the first option's site, where the assignment wants the batch; elsewhere only when none is free. */
function mixSomewhere(draft: Draft, batch: number): boolean {
  const { model, mixes, rng } = draft;
  const { options } = model.batches[batch]!;
  const aim = rng.below(2) === 0 ? "anywhere" : "opening";
  const { site } = options[0]!;
  const first = rng.below(options.length);
  for (let i = 0; i < options.length; i++) {
    const option = (first + i) % options.length;
    if (options[option]!.site === site && mixes.pick(batch, aim, rng, option)) return true;
  }
  return mixes.pick(batch, aim, rng);
}
