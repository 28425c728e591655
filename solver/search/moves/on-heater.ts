import type { Draft } from "../draft.js";

/** The loads whose anchor is on a heater, by start. */
export function loadsOnHeater(draft: Draft, heater: number): number[] {
  const { model } = draft;
  const on: number[] = [];
  for (let load = 0; load < model.loads.length; load++) {
    const row = draft.anchorRow(load);
    if (row >= 0 && model.heaterOfRow[row] === heater) on.push(load);
  }
  return on.sort((a, b) => draft.anchorStart(a) - draft.anchorStart(b) || a - b);
}
