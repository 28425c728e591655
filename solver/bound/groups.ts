import type { Mode, SearchModel } from "../search/model.js";
import { type AnchorWindow, anchorCosts, anchorWindow } from "./windows.js";

/** One way in which the loads of a group can be baked. */
export interface Way {
  readonly mode: Mode;
  readonly window: AnchorWindow;
  /** By minute of the window. */
  readonly costs: Int32Array;
}

/** Loads that are alike in all that the bound looks at. */
export interface LoadGroup {
  readonly count: number;
  readonly dropCost: number;
  readonly ways: readonly Way[];
}

function keyOf(mode: Mode, way: Way): string {
  const { operations, holds, anchor } = mode;
  const near = operations.slice(Math.max(0, anchor - 1), anchor + 1).map(({ alternatives }) => alternatives);
  const { least, greatest } = holds[anchor]!;
  return JSON.stringify([near, least, greatest, way.window, Array.from(way.costs).join()]);
}

/** Puts loads that are alike together. A load that no mode can make is a group without ways. */
export function groupLoads(model: SearchModel): LoadGroup[] {
  const groups = new Map<string, { count: number; dropCost: number; ways: Way[] }>();
  for (const load of model.loads) {
    const ways: Way[] = [];
    for (const mode of load.modes) {
      const window = anchorWindow(model, load, mode);
      if (window.from > window.to) continue;
      const costs = anchorCosts(model, load, mode, window);
      // What costs as much as not making the load need not be looked at.
      let to = costs.length - 1;
      while (to >= 0 && costs[to]! >= load.dropCost) to--;
      let from = 0;
      while (from <= to && costs[from]! >= load.dropCost) from++;
      if (from > to) continue;
      ways.push({
        mode,
        window: { from: window.from + from, to: window.from + to },
        costs: costs.slice(from, to + 1),
      });
    }
    const key = `${load.dropCost} ${ways.map((way) => keyOf(way.mode, way)).join(" ")}`;
    const group = groups.get(key);
    if (group) group.count++;
    else groups.set(key, { count: 1, dropCost: load.dropCost, ways });
  }
  return [...groups.values()];
}
