import type { Draft } from "../draft.js";
import type { SearchModel } from "../model.js";

const candidates = new WeakMap<SearchModel, readonly number[][]>();

/** By heater: the loads whose anchor may be on it, ascending. */
function candidatesOf(model: SearchModel): readonly number[][] {
  let lists = candidates.get(model);
  if (lists) return lists;
  lists = model.heaters.map((): number[] => []);
  for (let load = 0; load < model.loads.length; load++) {
    for (const { anchor, operations } of model.loads[load]!.modes) {
      for (const { row } of operations[anchor]!.alternatives) {
        const list = lists[model.heaterOfRow[row]!]!;
        if (list.at(-1) !== load) list.push(load);
      }
    }
  }
  candidates.set(model, lists);
  return lists;
}

/** The loads whose anchor is on a heater, by start. */
export function loadsOnHeater(draft: Draft, heater: number): number[] {
  const { model } = draft;
  const on: number[] = [];
  for (const load of candidatesOf(model)[heater]!) {
    const row = draft.anchorRow(load);
    if (row >= 0 && model.heaterOfRow[row] === heater) on.push(load);
  }
  return on.sort((a, b) => draft.anchorStart(a) - draft.anchorStart(b) || a - b);
}
