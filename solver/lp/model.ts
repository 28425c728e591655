/** A linear or mixed-integer model to be minimised, in sparse columns-by-row form. Variables and rows are numbers. */
export interface LpModel {
  readonly columnCount: number;
  readonly rowCount: number;
  readonly cost: Float64Array;
  readonly lower: Float64Array;
  readonly upper: Float64Array;
  readonly integer: Uint8Array;
  readonly rowLower: Float64Array;
  readonly rowUpper: Float64Array;
  /** Entries of row r: starts[r] .. starts[r + 1]. */
  readonly starts: Int32Array;
  readonly columns: Int32Array;
  readonly values: Float64Array;
}

export interface ColumnInput {
  readonly cost: number;
  readonly lower: number;
  readonly upper: number;
  readonly integer?: boolean;
}

/** Collects a model column by column and row by row. */
export class LpBuilder {
  private readonly cost: number[] = [];
  private readonly lower: number[] = [];
  private readonly upper: number[] = [];
  private readonly integer: number[] = [];
  private readonly rowLower: number[] = [];
  private readonly rowUpper: number[] = [];
  private readonly starts: number[] = [0];
  private readonly columns: number[] = [];
  private readonly values: number[] = [];

  addColumn({ cost, lower, upper, integer = false }: ColumnInput): number {
    this.lower.push(lower);
    this.upper.push(upper);
    this.integer.push(integer ? 1 : 0);
    return this.cost.push(cost) - 1;
  }

  /** A row lower <= sum of value x column <= upper. A column may be given once only. */
  addRow(
    bounds: { readonly lower: number; readonly upper: number },
    entries: readonly (readonly [number, number])[],
  ): number {
    for (const [column, value] of entries) {
      if (value === 0) continue;
      this.columns.push(column);
      this.values.push(value);
    }
    this.starts.push(this.columns.length);
    this.rowUpper.push(bounds.upper);
    return this.rowLower.push(bounds.lower) - 1;
  }

  build(): LpModel {
    return {
      columnCount: this.cost.length,
      rowCount: this.rowLower.length,
      cost: Float64Array.from(this.cost),
      lower: Float64Array.from(this.lower),
      upper: Float64Array.from(this.upper),
      integer: Uint8Array.from(this.integer),
      rowLower: Float64Array.from(this.rowLower),
      rowUpper: Float64Array.from(this.rowUpper),
      starts: Int32Array.from(this.starts),
      columns: Int32Array.from(this.columns),
      values: Float64Array.from(this.values),
    };
  }
}

/** Row activities at a point. */
export function rowActivities(model: LpModel, point: Float64Array): Float64Array {
  const activity = new Float64Array(model.rowCount);
  for (let r = 0; r < model.rowCount; r++) {
    let sum = 0;
    for (let i = model.starts[r]!; i < model.starts[r + 1]!; i++) sum += model.values[i]! * point[model.columns[i]!]!;
    activity[r] = sum;
  }
  return activity;
}

export function objectiveAt(model: LpModel, point: Float64Array): number {
  let sum = 0;
  for (let c = 0; c < model.columnCount; c++) sum += model.cost[c]! * point[c]!;
  return sum;
}

/** Is the point within all bounds, to a tolerance relative to each bound's size, and whole where it must be? */
export function isFeasible(model: LpModel, point: Float64Array, tolerance = 1e-6): boolean {
  const below = (value: number, limit: number) => value <= limit + tolerance * (1 + Math.abs(limit));
  for (let c = 0; c < model.columnCount; c++) {
    const value = point[c]!;
    if (!Number.isFinite(value)) return false;
    if (!below(value, model.upper[c]!) || !below(-value, -model.lower[c]!)) return false;
    if (model.integer[c] && Math.abs(value - Math.round(value)) > 1e-5) return false;
  }
  const activity = rowActivities(model, point);
  for (let r = 0; r < model.rowCount; r++) {
    let size = 1;
    for (let i = model.starts[r]!; i < model.starts[r + 1]!; i++)
      size = Math.max(size, Math.abs(model.values[i]! * point[model.columns[i]!]!));
    const slack = tolerance * size;
    if (activity[r]! > model.rowUpper[r]! + slack + tolerance * Math.abs(model.rowUpper[r]!)) return false;
    if (activity[r]! < model.rowLower[r]! - slack - tolerance * Math.abs(model.rowLower[r]!)) return false;
  }
  return true;
}
