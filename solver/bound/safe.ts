import type { LpModel } from "../lp/model.js";

/**
 * What any row prices prove: for prices y, every feasible x costs at least y.b + sum over columns of the least of
 * (c - yA)x between the column's bounds (weak duality). Exact prices give the optimum, others something lower, none anything false;
 * so an engine's tolerances cannot make a bound wrong. All columns need finite bounds.
 */
export function priceBound(model: LpModel, prices: Float64Array): number {
  const reduced = Float64Array.from(model.cost);
  let bound = 0;
  for (let r = 0; r < model.rowCount; r++) {
    let price = prices[r]!;
    const side = price > 0 ? model.rowLower[r]! : model.rowUpper[r]!;
    // A price on a side that does not bind proves nothing.
    if (!Number.isFinite(side) || !Number.isFinite(price)) price = 0;
    if (price === 0) continue;
    bound += price * side;
    for (let i = model.starts[r]!; i < model.starts[r + 1]!; i++) {
      const column = model.columns[i]!;
      reduced[column] = reduced[column]! - price * model.values[i]!;
    }
  }
  for (let c = 0; c < model.columnCount; c++) {
    bound += reduced[c]! * (reduced[c]! > 0 ? model.lower[c]! : model.upper[c]!);
  }
  // Sums of this many rounded products: a little is taken off.
  return bound - 1e-7 * Math.abs(bound);
}
