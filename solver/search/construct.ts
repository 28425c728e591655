import type { Draft } from "./draft.js";
import { type Order, unlikeOrders, urgency } from "./orders.js";
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

/** Asked before each mix and load: true leaves those that follow out. */
export type ShouldStop = () => boolean;

/** A first plan: mixes first, the batch that has to be mixed first of all first, then loads by the time they are due. */
export function construct(draft: Draft, shouldStop?: ShouldStop): void {
  placePinned(draft);
  placeAll(draft, urgency(draft), shouldStop);
  draft.accept();
}

/** How often all is placed anew at most, and by when of the budget it must be done. */
const ROUNDS = 12;
const SHARE = 0.2;

/**
 * All is placed anew, a few times, while little of the budget is used up (`progress`, 0..1), and the best plan stands: in order of urgency, and where the first plan
 * makes everything in unlike orders too. Whoever was late comes sooner when it is an order's turn again, and so does its batch ("squeaky wheel" optimization: Joslin &
 * Clements, Journal of Artificial Intelligence Research 10, 1999). Where not everything can be made, loads that are alike come together at the cost of lateness
 * that the search is slow to mend: a day of 600 loads ended a third dearer.
 */
export function mendOrder(draft: Draft, progress: () => number): void {
  const { state } = draft;
  state.leavePlentiful();
  const best = copyPlan(state);
  const urgent = urgency(draft);
  let orders: readonly Order[] = state.shortCost > 0 ? [urgent] : [...unlikeOrders(draft), urgent];
  // The plan at hand is that of the order of urgency.
  if (!putForward(draft, urgent)) orders = orders.filter((order) => order !== urgent);
  for (let round = 0; orders.length > 0 && round < ROUNDS && progress() < SHARE; ) {
    orders = orders.filter((order) => {
      if (round++ >= ROUNDS || progress() >= SHARE) return false;
      clearUnpinned(draft);
      placeAll(draft, order);
      if (state.cost < best.cost) copyPlan(state, best);
      return putForward(draft, order);
    });
  }
  if (best.cost < state.cost) adoptPlan(state, best);
  draft.accept();
}

/** Who is late in the plan at hand, or not made, comes sooner in an order, and so do their batches. False: there is nobody. */
function putForward(draft: Draft, order: Order): boolean {
  const { model, state } = draft;
  let isAny = false;
  model.batches.forEach(({ loads }, batch) => {
    let most = 0;
    for (const load of loads) {
      const late = minutesLate(draft, load);
      if (late === 0) continue;
      isAny = true;
      order.loads[load] = order.loads[load]! - (order.lateFirst ? model.loads.length : late);
      most = Math.max(most, late);
    }
    if (most > 0) order.batches[batch] = order.batches[batch]! - (order.lateFirst ? state.horizon : most);
  });
  return isAny;
}

/** What rides a van too late counts as this late: its finish does not tell. */
const A_LITTLE = 15;

function minutesLate({ model, state, bounds }: Draft, load: number): number {
  const { modes, lateCost } = model.loads[load]!;
  const mode = state.mode[load]!;
  if (mode < 0) return Math.max(1, state.horizon - bounds.of(load)[0]!.zoneTo);
  const finish = state.finish[load]!;
  const { deliveredAt } = modes[mode]!;
  if (lateCost[deliveredAt >= 0 ? deliveredAt : finish]! === 0) return 0;
  return Math.max(A_LITTLE, finish - bounds.of(load)[mode]!.zoneTo);
}

/** Lifts every load that is not pinned, and every mix that nothing pinned needs. */
export function clearUnpinned(draft: Draft): void {
  const { model, state } = draft;
  for (let load = 0; load < model.loads.length; load++)
    if (!model.loads[load]!.pinned && state.mode[load]! >= 0) state.lift(load);
  for (let batch = 0; batch < model.batches.length; batch++)
    if (!model.batches[batch]!.pinned && state.placedOfBatch[batch] === 0 && state.mixOption[batch]! >= 0)
      state.liftMix(batch);
}

/** Mixes what is not mixed, least key first, each as early as its window and a mixer allow, so that no time between mixes is lost; then places loads, least key first. */
function placeAll(draft: Draft, keys: Order, shouldStop: ShouldStop = () => false): void {
  const { model, state } = draft;
  const batches = model.batches.map((_, batch) => batch).sort((a, b) => keys.batches[a]! - keys.batches[b]! || a - b);
  for (const batch of batches) {
    if (shouldStop()) break;
    if (state.mixOption[batch]! < 0 && mixSomewhere(draft, batch)) draft.mix(batch);
  }
  const order = model.loads.map((_, load) => load).sort((a, b) => keys.loads[a]! - keys.loads[b]! || a - b);
  for (const load of order) {
    if (shouldStop()) break;
    const { batch, dropCost } = model.loads[load]!;
    if (state.mode[load]! >= 0 || state.mixOption[batch]! < 0) continue;
    draft.insert(load, dropCost);
  }
  draft.tidy();
}

/** Picks the earliest slot on the mixers of the first option's site, where the assignment wants the batch; elsewhere only when none is free. */
export function mixSomewhere(draft: Draft, batch: number): boolean {
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
