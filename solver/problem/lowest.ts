import type { SearchModel } from "../search/model.js";
import type { Problem } from "./index.js";
import { MILLS } from "./site-rows.js";

/**
 * The problem with costs that are never above the true ones of D19, so that what bounds it bounds every timetable made of
 * its batches and loads. The search's model has whole thousandths a minute for heaters, which may be above; here they are exact.
 * Late, early and short costs of the search are rounded down already; overtime counts at its cheapest.
 */
export interface Lowest {
  /** Costs in thousandths, not all of them whole. */
  readonly model: SearchModel;
  /** What every plan pays besides (currency): pieces that no load has, or that no load can be made for. */
  readonly constant: number;
}

export function lowestCosts(problem: Problem): Lowest {
  const { model, prepared, index, loads } = problem;
  const { book } = prepared;
  const ordered = new Map(index.wants.map(({ line, priority }) => [line.id, { pieces: line.pieces, priority }]));
  for (const { portions } of loads) {
    for (const { want, pieces } of portions) ordered.get(want.line.id)!.pieces -= pieces;
  }
  // A line with more pieces in its loads than it asks for counts as less than nothing: what it saves when a load is dropped.
  let constant = 0;
  for (const { pieces, priority } of ordered.values()) constant += pieces * priority * index.weights.shortPerPiece;
  return {
    constant,
    model: {
      ...model,
      heaters: model.heaters.map((heater, h) => ({ ...heater, ...book.heaterRates[h]! })),
      trips: model.trips.map((trip, t) => ({ ...trip, cost: index.trips[t]!.run.cost * MILLS })),
      overtimeOfRow: model.overtimeOfRow.map(
        (overtime, row) => overtime && { ...overtime, costPerMinute: book.overtimeRates.get(row)! },
      ),
    },
  };
}
