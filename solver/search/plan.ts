import { MAX_OPERATIONS, type SearchModel } from "./model.js";
import { STRIDE, State } from "./state.js";

/** Everything that tells one plan from another, as flat copies. */
export interface PlanCopy {
  cost: number;
  readonly mixOption: Int32Array;
  readonly mixStart: Int32Array;
  readonly mixCrew: Int32Array;
  readonly mode: Int32Array;
  readonly start: Int32Array;
  readonly alternative: Int8Array;
  readonly finish: Int32Array;
  readonly takes: Int32Array;
  readonly takeCount: Int32Array;
}

export function copyPlan(state: State, into?: PlanCopy): PlanCopy {
  if (!into) {
    return {
      cost: state.cost,
      mixOption: state.mixOption.slice(),
      mixStart: state.mixStart.slice(),
      mixCrew: state.mixCrew.slice(),
      mode: state.mode.slice(),
      start: state.start.slice(),
      alternative: state.alternative.slice(),
      finish: state.finish.slice(),
      takes: state.takes.slice(),
      takeCount: state.takeCount.slice(),
    };
  }
  into.cost = state.cost;
  into.mixOption.set(state.mixOption);
  into.mixStart.set(state.mixStart);
  into.mixCrew.set(state.mixCrew);
  into.mode.set(state.mode);
  into.start.set(state.start);
  into.alternative.set(state.alternative);
  into.finish.set(state.finish);
  into.takes.set(state.takes);
  into.takeCount.set(state.takeCount);
  return into;
}

/** Puts a state where a copied plan stands, wherever it stood before. */
export function adoptPlan(state: State, plan: PlanCopy): void {
  const { loads, batches } = state.model;
  for (let l = 0; l < loads.length; l++) if (state.mode[l]! >= 0) state.lift(l);
  for (let b = 0; b < batches.length; b++) {
    if (state.mixOption[b]! >= 0) state.liftMix(b);
    if (plan.mixOption[b]! >= 0) state.placeMix(b, plan.mixOption[b]!, plan.mixStart[b]!, plan.mixCrew[b]!);
  }
  for (let l = 0; l < loads.length; l++) {
    if (plan.mode[l]! < 0) continue;
    state.restore(l, {
      mode: plan.mode[l]!,
      finish: plan.finish[l]!,
      takeCount: plan.takeCount[l]!,
      takes: plan.takes.subarray(l * STRIDE, (l + 1) * STRIDE),
      start: plan.start.subarray(l * MAX_OPERATIONS, (l + 1) * MAX_OPERATIONS),
      alternative: plan.alternative.subarray(l * MAX_OPERATIONS, (l + 1) * MAX_OPERATIONS),
    });
  }
}

/** A state built from nothing to stand where a copied plan stands. */
export function rebuild(model: SearchModel, plan: PlanCopy): State {
  const state = new State(model);
  adoptPlan(state, plan);
  return state;
}
