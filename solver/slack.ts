import type { Rng } from "./rng.js";
import { Draft } from "./search/draft.js";
import type { Load, SearchModel } from "./search/model.js";
import { copyPlan, type PlanCopy, rebuild } from "./search/plan.js";

/** Being ready a minute less than wished before due counts this share of a minute late. */
const LACKING_SHARE = 0.25;

function slackened(load: Load, minutes: number): Load {
  const { lateCost, modes } = load;
  const last = lateCost.length - 1;
  const cost = lateCost.map((late, t) =>
    Math.floor(late + LACKING_SHARE * (lateCost[Math.min(last, t + minutes)]! - late)),
  );
  return {
    ...load,
    lateCost: cost,
    modes: modes.map((mode) =>
      mode.deliveredAt >= 0 ? { ...mode, finishBy: Math.max(0, mode.finishBy - minutes) } : mode,
    ),
  };
}

/**
 * A model that wishes loads to be ready some minutes sooner than they must: before their van is loaded, or before they are due. Its plans are plans of the model
 * itself. The search takes no longer by it: only the tables and the latest minutes of loads are other.
 */
export function withSlack(model: SearchModel, minutes: number): SearchModel {
  if (minutes === 0) return model;
  return { ...model, loads: model.loads.map((load) => slackened(load, minutes)) };
}

/** A plan of the model with slack by the true times: what is late or not made, for want of slack perhaps, is put where it costs least without. */
export function atTrueTimes(model: SearchModel, plan: PlanCopy, rng: Rng): PlanCopy {
  const draft = new Draft(model, rng, rebuild(model, plan));
  const { state } = draft;
  for (let load = 0; load < model.loads.length; load++) {
    const { lateCost, modes, batch, dropCost } = model.loads[load]!;
    const mode = state.mode[load]!;
    const isLate =
      mode >= 0 && lateCost[modes[mode]!.deliveredAt >= 0 ? modes[mode]!.deliveredAt : state.finish[load]!]! > 0;
    if (mode >= 0 && !isLate) continue;
    const { cost } = state;
    draft.removeLoad(load);
    if (state.mixOption[batch]! >= 0) draft.insert(load, dropCost);
    else draft.insertWithMix(load, dropCost);
    draft.tidy();
    if (state.cost < cost && draft.leadsClear()) draft.accept();
    else draft.reject();
  }
  return copyPlan(state);
}
