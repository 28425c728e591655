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

/** A first plan: batches by the time their loads are due, each mix as late as will do, each load where it costs least. */
export function construct(draft: Draft): void {
  const { model, bounds, state, rng } = draft;
  const due = model.batches.map((batch) =>
    batch.loads.reduce((least, load) => Math.min(least, bounds[load]![0]!.zoneTo), model.horizon),
  );
  const pinnedFirst = (batch: number): number => (model.batches[batch]!.pinned ? 0 : 1);
  const order = model.batches
    .map((_, b) => b)
    .sort((a, b) => pinnedFirst(a) - pinnedFirst(b) || due[a]! - due[b]! || a - b);
  placePinned(draft);
  for (const batch of order) {
    const loads = [...model.batches[batch]!.loads].sort(
      (a, b) => bounds[a]![0]!.zoneTo - bounds[b]![0]!.zoneTo || a - b,
    );
    if (state.mixOption[batch]! < 0) {
      if (!draft.mixes.pick(batch, "latest", rng, 0) && !draft.mixes.pick(batch, "latest", rng)) continue;
      draft.mix(batch);
    }
    for (const load of loads) if (state.mode[load]! < 0) draft.insert(load, model.loads[load]!.dropCost);
  }
  draft.tidy();
  draft.accept();
}
