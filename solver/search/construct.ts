import type { Draft } from "./draft.js";
import { adoptPlan, copyPlan } from "./plan.js";

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

/** A first plan: mixes first, the batch that has to be mixed first of all first, then loads by the time they are due. */
export function construct(draft: Draft): void {
  placePinned(draft);
  placeAll(draft, urgency(draft));
  draft.accept();
}

/** In what order batches are mixed and loads are placed: the least first. */
interface Urgency {
  readonly batches: number[];
  readonly loads: number[];
}

function urgency({ model, mixes, bounds }: Draft): Urgency {
  return {
    batches: model.batches.map((_, batch) => mixes.latestEnd(batch)),
    loads: model.loads.map((_, load) => bounds.of(load)[0]!.zoneTo),
  };
}

/** How often the order is mended at most, and by when of the budget it must be done. */
const ROUNDS = 12;
const SHARE = 0.2;

/**
 * Whoever was late in the plan at hand is placed, and its batch mixed, earlier by as much in the order, and everything is done anew; a few
 * times, while little of the budget is used up (`progress`, 0..1), and the best plan stands ("squeaky wheel" optimization: Joslin & Clements, Journal of Artificial Intelligence Research 10, 1999).
 */
export function mendOrder(draft: Draft, progress: () => number): void {
  const { model, state } = draft;
  const keys = urgency(draft);
  const best = copyPlan(state);
  for (let round = 0; round < ROUNDS && state.lateCost + state.shortCost > 0 && progress() < SHARE; round++) {
    for (let batch = 0; batch < model.batches.length; batch++) {
      let latest = 0;
      for (const load of model.batches[batch]!.loads) {
        const late = minutesLate(draft, load);
        keys.loads[load] = keys.loads[load]! - late;
        latest = Math.max(latest, late);
      }
      keys.batches[batch] = keys.batches[batch]! - latest;
    }
    clearUnpinned(draft);
    placeAll(draft, keys);
    if (state.cost < best.cost) copyPlan(state, best);
  }
  if (best.cost < state.cost) adoptPlan(state, best);
  draft.accept();
}

/** What rides a van too late counts as this late: its finish does not tell. */
const A_LITTLE = 15;

function minutesLate({ model, state, bounds }: Draft, load: number): number {
  const { modes, lateCost } = model.loads[load]!;
  const mode = state.mode[load]!;
  if (mode < 0) return state.horizon - bounds.of(load)[0]!.zoneTo;
  const finish = state.finish[load]!;
  const { deliveredAt } = modes[mode]!;
  if (lateCost[deliveredAt >= 0 ? deliveredAt : finish]! === 0) return 0;
  return Math.max(A_LITTLE, finish - bounds.of(load)[mode]!.zoneTo);
}

function clearUnpinned(draft: Draft): void {
  const { model, state } = draft;
  for (let load = 0; load < model.loads.length; load++)
    if (!model.loads[load]!.pinned && state.mode[load]! >= 0) state.lift(load);
  for (let batch = 0; batch < model.batches.length; batch++)
    if (!model.batches[batch]!.pinned && state.placedOfBatch[batch] === 0 && state.mixOption[batch]! >= 0)
      state.liftMix(batch);
}

/** Mixes what is not mixed, least key first, each as early as its window and a mixer allow, so that no time between mixes is lost. */
function placeAll(draft: Draft, keys: Urgency): void {
  const { model, state } = draft;
  const batches = model.batches.map((_, batch) => batch).sort((a, b) => keys.batches[a]! - keys.batches[b]! || a - b);
  for (const batch of batches) {
    if (state.mixOption[batch]! < 0 && mixSomewhere(draft, batch)) draft.mix(batch);
  }
  const order = model.loads.map((_, load) => load).sort((a, b) => keys.loads[a]! - keys.loads[b]! || a - b);
  for (const load of order) {
    const { batch, dropCost } = model.loads[load]!;
    if (state.mode[load]! >= 0 || state.mixOption[batch]! < 0) continue;
    draft.insert(load, dropCost);
  }
  draft.tidy();
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
