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
 * A first plan: mixes first, the most urgent batch first, each as early as its window and a mixer allow, so that no time between mixes
 * is lost; then loads by the time they are due, each where it costs least.
 */
export function construct(draft: Draft): void {
  const { model, bounds, state, mixes } = draft;
  placePinned(draft);
  const batches = model.batches.map((_, batch) => batch);
  batches.sort((a, b) => mixes.latestEnd(a) - mixes.latestEnd(b) || a - b);
  for (const batch of batches) {
    if (state.mixOption[batch]! < 0 && mixSomewhere(draft, batch)) draft.mix(batch);
  }
  const due = (load: number): number => bounds[load]![0]!.zoneTo;
  const order = model.loads.map((_, load) => load).sort((a, b) => due(a) - due(b) || a - b);
  for (const load of order) {
    const { batch, dropCost } = model.loads[load]!;
    if (state.mode[load]! >= 0 || state.mixOption[batch]! < 0) continue;
    draft.insert(load, dropCost);
  }
  draft.tidy();
  draft.accept();
}

/** Picks the earliest slot on the mixers of the first option's site, where the assignment wants the batch; elsewhere only when none is free. */
function mixSomewhere(draft: Draft, batch: number): boolean {
  const { model, mixes, rng } = draft;
  const { options } = model.batches[batch]!;
  const { site } = options[0]!;
  let chosen = -1;
  let start = 0;
  for (let option = 0; option < options.length; option++) {
    if (options[option]!.site !== site || !mixes.pick(batch, "earliest", rng, option)) continue;
    if (chosen >= 0 && mixes.start >= start) continue;
    chosen = option;
    start = mixes.start;
  }
  if (chosen < 0) return mixes.pick(batch, "earliest", rng);
  mixes.choose(batch, chosen, start);
  return true;
}
