import type { Draft } from "../draft.js";
import { NO_LOAD } from "../heaters.js";

/** The heater of one of the loads, drawn by chance, so that busy heaters come more often; -1 when that load is not made. */
export function someHeater(draft: Draft): number {
  const { rng, model } = draft;
  const row = draft.anchorRow(rng.below(model.loads.length));
  return row < 0 ? -1 : model.heaterOfRow[row]!;
}

/** The loads on a heater, by start. */
export function loadsOnHeater(draft: Draft, heater: number): number[] {
  const { heaters } = draft.state;
  const on: number[] = [];
  for (let i = heaters.from(heater); i < heaters.until(heater); i++)
    if (heaters.loads[i]! !== NO_LOAD) on.push(heaters.loads[i]!);
  // Which of those that start together comes first must not depend on how the plan came about.
  return on.sort((a, b) => draft.anchorStart(a) - draft.anchorStart(b) || a - b);
}
