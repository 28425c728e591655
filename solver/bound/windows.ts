import { chainBounds } from "../search/bounds.js";
import type { Load, Mode, Operation, SearchModel } from "../search/model.js";

/** When the anchor of a mode may start if nothing else were made: no plan starts it outside. */
export interface AnchorWindow {
  readonly from: number;
  readonly to: number;
}

/** The first start from `from` on at which the operation finds its people and a unit on an empty day, or the horizon. */
function firstStart(model: SearchModel, operation: Operation, from: number): number {
  const { horizon, capacity } = model;
  const isClear = (row: number, amount: number, start: number, minutes: number): boolean => {
    for (let t = start; t < start + minutes; t++)
      if (t >= horizon || capacity[row * horizon + t]! < amount) return false;
    return true;
  };
  const shortest = Math.min(...operation.alternatives.map(({ minutes }) => minutes));
  const { crew } = operation;
  for (let t = Math.max(from, operation.from); t < horizon; t++) {
    const length = crew && crew.minutes > 0 ? crew.minutes : shortest;
    if (crew && ![...crew.rows].some((row) => isClear(row, crew.heads, t, length))) continue;
    if (operation.alternatives.some(({ row, amount, minutes }) => row < 0 || isClear(row, amount, t, minutes)))
      return t;
  }
  return horizon;
}

export function anchorWindow(model: SearchModel, load: Load, mode: Mode): AnchorWindow {
  const bounds = chainBounds(load, mode, model.horizon);
  const options = model.batches[load.batch]!.options.filter(({ site }) => site === mode.site);
  if (options.length === 0) return { from: 0, to: -1 };
  let from = Math.min(...options.map((option) => option.from + option.minutes));
  const latestMix = Math.max(...options.map((option) => option.to + option.minutes));
  for (let k = 0; k <= mode.anchor; k++) {
    const operation = mode.operations[k]!;
    from = firstStart(model, operation, from + mode.holds[k]!.least);
    if (k < mode.anchor) from += Math.min(...operation.alternatives.map(({ minutes }) => minutes));
  }
  const to = Math.min(
    latestMix + bounds.greatestFromMix[mode.anchor]!,
    mode.operations[mode.anchor]!.to,
    Math.min(mode.finishBy, model.horizon) - bounds.leastAfter,
  );
  return { from, to };
}

/** What a load costs at the least when its anchor starts at each minute of a window: [minute - from]. */
export function anchorCosts(model: SearchModel, load: Load, mode: Mode, window: AnchorWindow): Int32Array {
  const { leastAfter, greatestAfter } = chainBounds(load, mode, model.horizon);
  const costs = new Int32Array(Math.max(0, window.to - window.from + 1));
  for (let i = 0; i < costs.length; i++) {
    const t = window.from + i;
    const late = load.lateCost[mode.deliveredAt >= 0 ? mode.deliveredAt : t + leastAfter]!;
    costs[i] = late + load.earlyCost[Math.min(model.horizon, t + greatestAfter)]!;
  }
  return costs;
}
