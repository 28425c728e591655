import type { Batch, Load, Mode, SearchModel } from "./model.js";

const known = new WeakMap<SearchModel, Uint8Array>();

/**
 * Per row 1 where it cannot run short: at no minute has it less than what all loads and mixes together could ever take of it, each in the way that takes most.
 * Taking from such a row needs no counting and asking whether it has room no looking (a redundant resource constraint, as a presolve removes it). A fridge with
 * room for the whole night's tubs was most of what a try on a day of 60 loads counted. Rows with rivals or overtime are not among them: their takes do more than
 * take room.
 */
export function plentifulRows(model: SearchModel): Uint8Array {
  let plentiful = known.get(model);
  if (plentiful === undefined) {
    plentiful = findPlentiful(model);
    known.set(model, plentiful);
  }
  return plentiful;
}

function findPlentiful(model: SearchModel): Uint8Array {
  const { rowCount, loads, batches, conflicts, overtimeOfRow } = model;
  const plentiful = new Uint8Array(rowCount).fill(1);
  for (let row = 0; row < rowCount; row++) {
    if (conflicts[row]!.length > 0 || overtimeOfRow[row] !== null) plentiful[row] = 0;
    for (let c = 0; c < conflicts[row]!.length; c += 3) plentiful[conflicts[row]![c]!] = 0;
  }
  const demand = new Demand(plentiful);
  for (const [modes, count] of countedByModes(loads)) demand.addLoads(modes, count, model);
  for (const batch of batches) demand.addMix(batch);
  for (let row = 0; row < rowCount; row++)
    if (plentiful[row] === 1 && leastOf(model, row) < demand.total[row]!) plentiful[row] = 0;
  return plentiful;
}

/** Loads that are alike share their modes. */
function countedByModes(loads: readonly Load[]): Map<readonly Mode[], number> {
  const counts = new Map<readonly Mode[], number>();
  for (const { modes } of loads) counts.set(modes, (counts.get(modes) ?? 0) + 1);
  return counts;
}

function leastOf({ capacity, horizon }: SearchModel, row: number): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = row * horizon, end = i + horizon; i < end; i++) if (capacity[i]! < least) least = capacity[i]!;
  return least;
}

/** By row that may be plentiful, the most that everything together could take at once. */
class Demand {
  readonly total: Float64Array;
  private readonly isAsked: Uint8Array;
  /** Of the mode or option at hand, and the most of those of its load or batch before it. */
  private readonly own: Float64Array;
  private readonly most: Float64Array;
  /** Rows of which the load or batch at hand takes something. */
  private readonly touched: number[] = [];

  constructor(isAsked: Uint8Array) {
    this.isAsked = isAsked;
    this.total = new Float64Array(isAsked.length);
    this.own = new Float64Array(isAsked.length);
    this.most = new Float64Array(isAsked.length);
  }

  /** So many loads with the same modes. */
  addLoads(modes: readonly Mode[], count: number, { trips }: SearchModel): void {
    for (const mode of modes) {
      this.addMode(mode);
      if (mode.trip >= 0) this.ask(trips[mode.trip]!.row, mode.tripAmount);
      this.keepMost();
    }
    this.settle(count);
  }

  addMix({ options }: Batch): void {
    for (const { row, crew } of options) {
      this.ask(row, 1);
      if (crew !== null) this.askAny(crew.rows, crew.heads);
      this.keepMost();
    }
    this.settle(1);
  }

  private addMode({ operations, holds, spans }: Mode): void {
    for (const { alternatives, crew } of operations) {
      for (const { row, amount } of alternatives) this.ask(row, amount);
      if (crew !== null) this.askAny(crew.rows, crew.heads);
    }
    for (const { rows, amount, heatRows, heatAmount, ride } of holds) {
      this.askAny(rows, amount);
      this.askAny(heatRows, heatAmount);
      if (ride !== null) this.askAny(ride.rows, amount);
    }
    for (const { row, amount } of spans) this.ask(row, amount);
  }

  private askAny(rows: Int32Array, amount: number): void {
    for (let i = 0; i < rows.length; i++) this.ask(rows[i]!, amount);
  }

  private ask(row: number, amount: number): void {
    if (row < 0 || this.isAsked[row] === 0) return;
    if (this.own[row] === 0 && this.most[row] === 0) this.touched.push(row);
    this.own[row] = this.own[row]! + amount;
  }

  private keepMost(): void {
    for (let i = 0; i < this.touched.length; i++) {
      const row = this.touched[i]!;
      if (this.own[row]! > this.most[row]!) this.most[row] = this.own[row]!;
      this.own[row] = 0;
    }
  }

  private settle(count: number): void {
    for (let i = 0; i < this.touched.length; i++) {
      const row = this.touched[i]!;
      this.total[row] = this.total[row]! + count * this.most[row]!;
      this.most[row] = 0;
    }
    this.touched.length = 0;
  }
}
