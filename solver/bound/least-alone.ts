import type { Mode, SearchModel } from "../search/model.js";
import { groupLoads } from "./groups.js";
import { type HeaterKind, heaterKinds, type KindClass } from "./heater-kinds.js";
import { usedRows } from "./pools.js";

/**
 * What the loads cost each by itself: a bound that takes no time. A load pays for its lateness or earliness at the best minute, for its share of the heaters
 * that it is on (a deck of four positions that holds one pan is a quarter paid for by it; the rest, idle minutes and leads are given away), and for
 * its share of its trip's positions.
 */
export function leastAlone(model: SearchModel): number {
  const { kinds, classOfRow } = heaterKinds(model, model.horizon, usedRows(model));
  const classes = new Map<number, { kind: HeaterKind; own: KindClass }>();
  for (const kind of kinds) for (const own of kind.classes) classes.set(own.id, { kind, own });
  const perMinute = (row: number, amount: number): number => {
    const found = row < 0 ? undefined : classes.get(classOfRow[row]!);
    if (!found) return 0;
    const lanes = Math.max(...found.kind.classes.map(({ lane }) => lane)) + 1;
    return (found.kind.costPerMinute * amount) / (Math.max(amount, found.own.capacity) * lanes);
  };
  const shareOf = ({ operations, trip, tripAmount }: Mode): number => {
    let share = 0;
    for (const { alternatives } of operations)
      share += Math.min(...alternatives.map(({ row, amount, minutes }) => minutes * perMinute(row, amount)));
    if (trip < 0) return share;
    const { row, cost } = model.trips[trip]!;
    return share + (cost * tripAmount) / Math.max(tripAmount, model.capacity[row * model.horizon]!);
  };
  let sum = 0;
  for (const { count, dropCost, ways } of groupLoads(model)) {
    let least = dropCost;
    for (const { mode, costs } of ways) {
      const share = shareOf(mode);
      least = costs.reduce((low, cost) => Math.min(low, cost + share), least);
    }
    sum += count * least;
  }
  return sum;
}
