import type { Draft } from "../search/draft.js";
import { goHome, mixAtHome } from "../search/home.js";
import { MAX_OPERATIONS } from "../search/model.js";
import { copyPlan, type PlanCopy } from "../search/plan.js";
import { place } from "./place.js";

/** Loads that are lifted with one that is to go home, at most. */
const MOST_OTHERS = 6;
const ASK_EVERY = 8;

/** Worked steps of a load that are not where the plan in force has them. */
function stepsAway({ model, state }: Draft, load: number): number {
  const { home, modes } = model.loads[load]!;
  const mode = state.mode[load]!;
  if (!home || mode < 0) return 0;
  let away = 0;
  const at = load * MAX_OPERATIONS;
  const { operations } = modes[home.mode]!;
  for (let k = 0; k < operations.length; k++) {
    if (operations[k]!.alternatives[home.alternatives[k]!]!.minutes === 0) continue;
    const isHome = mode === home.mode && state.start[at + k] === home.starts[k];
    if (!isHome || state.alternative[at + k] !== home.alternatives[k]) away++;
  }
  return away;
}

function isMixAway({ model, state }: Draft, batch: number): boolean {
  const { home, pinned } = model.batches[batch]!;
  if (!home || pinned || state.mixOption[batch]! < 0) return false;
  return state.mixOption[batch] !== home.option || state.mixStart[batch] !== home.start;
}

function away(draft: Draft): number[] {
  const { model, state } = draft;
  const found: number[] = [];
  for (let load = 0; load < model.loads.length; load++) {
    if (model.loads[load]!.pinned || state.mode[load]! < 0) continue;
    if (stepsAway(draft, load) > 0 || isMixAway(draft, model.loads[load]!.batch)) found.push(load);
  }
  return found;
}

/** What being late and short costs. */
function wantingOf({ model, state }: Draft): number {
  let cost = state.shortCost;
  for (let load = 0; load < model.loads.length; load++) {
    const mode = state.mode[load]!;
    if (mode < 0) continue;
    const { lateCost, modes } = model.loads[load]!;
    const { deliveredAt } = modes[mode]!;
    cost += lateCost[deliveredAt >= 0 ? deliveredAt : state.finish[load]!]!;
  }
  return cost;
}

/** Tasks that people find elsewhere than they know. */
function tasksAway(draft: Draft, loads: readonly number[]): number {
  const mixes = new Set<number>();
  let away = 0;
  for (const load of loads) {
    away += stepsAway(draft, load);
    const { batch } = draft.model.loads[load]!;
    if (isMixAway(draft, batch)) mixes.add(batch);
  }
  return away + mixes.size;
}

/** When the load bakes in the plan in force. */
function homeAnchor({ model }: Draft, load: number): number {
  const { home, modes } = model.loads[load]!;
  return home ? home.starts[modes[home.mode]!.anchor]! : -1;
}

/** Lifts a moved load and some of those that may be in its way at home: moved ones near it, and whoever bakes then. */
function lift(draft: Draft, seed: number, moved: readonly number[]): void {
  const { model, rng, state } = draft;
  const { batch } = model.loads[seed]!;
  if (isMixAway(draft, batch)) draft.removeBatch(batch);
  else draft.removeLoad(seed);
  const reach = 10 << rng.below(5);
  const at = homeAnchor(draft, seed);
  const now = draft.anchorBefore(seed);
  const isNear = (load: number): boolean => {
    const start = draft.anchorStart(load);
    return start >= 0 && (Math.abs(start - at) <= reach || Math.abs(start - now) <= reach);
  };
  const others = rng.below(MOST_OTHERS + 1);
  for (let tries = 0, taken = 0; tries < 6 * others && taken < others; tries++) {
    const load = rng.below(3) > 0 ? moved[rng.below(moved.length)]! : rng.below(model.loads.length);
    if (load === seed || state.mode[load]! < 0 || !isNear(load)) continue;
    const own = model.loads[load]!.batch;
    if (isMixAway(draft, own)) draft.removeBatch(own);
    else draft.removeLoad(load);
    taken++;
  }
}

/** Puts the seed home before all others; whoever cannot go home then goes where it costs least. */
function putBack(draft: Draft, seed: number): void {
  const { model, rng, state, waiting } = draft;
  const { choice } = draft.inserter;
  choice.prefersLate = rng.below(2) === 0;
  choice.firstAlternative = rng.below(2) === 0 ? 0 : rng.below(64);
  const order = [...waiting];
  for (let i = order.length - 1; i > 0; i--) {
    const j = rng.below(i + 1);
    [order[i], order[j]] = [order[j]!, order[i]!];
  }
  const { batch } = model.loads[seed]!;
  if (state.mixOption[batch]! < 0) mixAtHome(draft, batch);
  if (state.mixOption[batch]! >= 0) goHome(draft, seed);
  for (const load of order) {
    if (state.mode[load]! >= 0) continue;
    const own = model.loads[load]!.batch;
    if (state.mixOption[own]! < 0) mixAtHome(draft, own);
    if (state.mixOption[own]! < 0 || !goHome(draft, load)) place(draft, load);
  }
  draft.tidy();
}

/**
 * Brings loads and mixes of a repaired plan back to where the plan in force has them: one is put home first, those in its way after it. Nothing becomes
 * later or shorter by it, and the rest of the cost may rise by `taskCost` for each task that is home again: what people already work by comes before
 * money. `progress` as in the search. The draft is left as the plan that is given back.
 */
export function polish(draft: Draft, taskCost: number, progress: (iterations: number) => number): PlanCopy {
  const { state, rng } = draft;
  let iterations = 0;
  let moved = away(draft);
  let tasks = tasksAway(draft, moved);
  let wanting = wantingOf(draft);
  while (moved.length > 0) {
    if (iterations % ASK_EVERY === 0 && progress(iterations) >= 1) break;
    iterations++;
    const cost = state.cost;
    const seed = moved[rng.below(moved.length)]!;
    lift(draft, seed, moved);
    putBack(draft, seed);
    const nowMoved = away(draft);
    const nowTasks = tasksAway(draft, nowMoved);
    const nowWanting = wantingOf(draft);
    const isNoDearer = state.cost + taskCost * nowTasks <= cost + taskCost * tasks;
    if (isNoDearer && nowWanting <= wanting && draft.leadsClear()) {
      draft.accept();
      moved = nowMoved;
      tasks = nowTasks;
      wanting = nowWanting;
    } else draft.reject();
  }
  return copyPlan(state);
}
