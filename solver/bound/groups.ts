import type { Mode, SearchModel } from "../search/model.js";
import { type AnchorWindow, anchorCosts, anchorWindow } from "./windows.js";

/** One way in which the loads of a group can be baked. */
export interface Way {
  readonly mode: Mode;
  readonly window: AnchorWindow;
  /** By minute of the window. */
  readonly costs: Int32Array;
  /** Ways with the same key are alike up to the anchor. */
  readonly upstream: string;
}

/** Loads that are alike in all that the bound looks at. */
export interface LoadGroup {
  readonly count: number;
  readonly dropCost: number;
  readonly ways: readonly Way[];
}

/** All that the bound looks at of what happens up to the anchor. */
function upstreamKey({ operations, holds, anchor }: Mode): string {
  return JSON.stringify(
    operations
      .slice(0, anchor + 1)
      .map(({ alternatives, crew }, k) => [
        alternatives,
        crew && [Array.from(crew.rows), crew.heads, crew.minutes],
        holds[k]!.least,
        holds[k]!.greatest,
      ]),
  );
}

/**
 * Puts loads that are alike together. A load that no mode can make is a group without ways. Ways and times that cost as much as a plan that is known
 * (`known`) or more are left out.
 */
export function groupLoads(model: SearchModel, known = Number.POSITIVE_INFINITY): LoadGroup[] {
  const groups = new Map<string, { count: number; dropCost: number; ways: Way[] }>();
  for (const load of model.loads) {
    const ways = new Map<string, Way>();
    for (const mode of load.modes) {
      const window = anchorWindow(model, load, mode);
      if (window.from > window.to) continue;
      const costs = anchorCosts(model, load, mode, window);
      // What costs as much as not making the load need not be looked at.
      let to = costs.length - 1;
      const most = Math.min(load.dropCost, known);
      while (to >= 0 && costs[to]! >= most) to--;
      let from = 0;
      while (from <= to && costs[from]! >= most) from++;
      if (from > to) continue;
      const cut = { from: window.from + from, to: window.from + to };
      const own = costs.slice(from, to + 1);
      const upstream = upstreamKey(mode);
      const key = `${upstream} ${mode.trip} ${mode.tripAmount} ${cut.from} ${cut.to} ${own.join()}`;
      ways.set(key, { mode, window: cut, costs: own, upstream });
    }
    const key = `${load.dropCost} ${[...ways.keys()].join(" ")}`;
    const group = groups.get(key);
    if (group) group.count++;
    else groups.set(key, { count: 1, dropCost: load.dropCost, ways: [...ways.values()] });
  }
  return [...groups.values()];
}
