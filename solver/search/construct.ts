import type { Draft } from "./draft.js";

/** A first plan: batches by the time their loads are due, each mix as late as will do, each load where it costs least. */
export function construct(draft: Draft): void {
  const { model, bounds, state, rng } = draft;
  const due = model.batches.map((batch) =>
    batch.loads.reduce((least, load) => Math.min(least, bounds[load]![0]!.zoneTo), model.horizon),
  );
  const order = model.batches.map((_, b) => b).sort((a, b) => due[a]! - due[b]! || a - b);
  for (const batch of order) {
    const loads = [...model.batches[batch]!.loads].sort(
      (a, b) => bounds[a]![0]!.zoneTo - bounds[b]![0]!.zoneTo || a - b,
    );
    if (state.mixOption[batch]! < 0) {
      if (!draft.mixes.pick(batch, "latest", rng, 0) && !draft.mixes.pick(batch, "latest", rng)) continue;
      draft.mix(batch);
    }
    for (const load of loads) if (state.mode[load]! < 0) draft.insert(load);
  }
  draft.tidy();
  draft.accept();
}
