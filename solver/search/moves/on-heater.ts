import type { Draft } from "../draft.js";
import { NO_LOAD } from "../heaters.js";

/** The loads on a heater, by start. */
export function loadsOnHeater(draft: Draft, heater: number): number[] {
  const { heaters } = draft.state;
  const on: number[] = [];
  for (let i = heaters.from(heater); i < heaters.until(heater); i++)
    if (heaters.loads[i]! !== NO_LOAD) on.push(heaters.loads[i]!);
  // Which of those that start together comes first must not depend on how the plan came about.
  return on.sort((a, b) => draft.anchorStart(a) - draft.anchorStart(b) || a - b);
}
