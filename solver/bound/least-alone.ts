import type { SearchModel } from "../search/model.js";
import { groupLoads } from "./groups.js";

/** What the loads cost by their times alone, each as if it had the kitchen to itself: a bound that takes no time. */
export function leastAlone(model: SearchModel): number {
  let sum = 0;
  for (const { count, dropCost, ways } of groupLoads(model)) {
    const least = ways.reduce((low, { costs }) => costs.reduce((a, b) => Math.min(a, b), low), dropCost);
    sum += count * least;
  }
  return sum;
}
