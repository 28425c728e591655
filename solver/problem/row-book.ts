import type { Reason } from "../../schemas/index.js";
import { clearFrom, clearUntil } from "../search/clearance.js";
import type { Heater, Overtime } from "../search/model.js";

const NEVER = new Int32Array(0);

/** What a row of the search model stands for. */
export interface RowMeaning {
  /** What an order that it holds back is told. */
  readonly kind: Reason["code"];
  readonly site: string;
  /** The unit (site/unit or site/unit/part); absent for stocks and crew groups. */
  readonly unit?: string;
  /** Crew group, pan type, tub type, or kind of container on a shelf. */
  readonly of?: string;
  /** Shelves whose positions the row counts. */
  readonly shelves?: readonly string[];
}

/** What a heater costs, not rounded to the search's whole thousandths. */
export interface HeaterRates {
  readonly costPerMinute: number;
  readonly changeCost: number;
}

/** Collects the rows of a search model with their capacities, rivals and meanings. */
export class RowBook {
  readonly horizon: number;
  readonly meanings: RowMeaning[] = [];
  readonly heaters: Heater[] = [];
  /** Of each heater. */
  readonly heaterRates: HeaterRates[] = [];
  /** Of each row with overtime: its cheapest, per minute, not rounded. */
  readonly overtimeRates = new Map<number, number>();
  private readonly lines: Int32Array[] = [];
  private readonly conflictLists: number[][] = [];
  private readonly standstills: Int32Array[] = [];
  private readonly heaterOf: number[] = [];
  private readonly classOf: number[] = [];
  private readonly overtimes: (Overtime | null)[] = [];

  constructor(horizon: number) {
    this.horizon = horizon;
  }

  /** A new row with a constant capacity. */
  add(meaning: RowMeaning, capacity: number): number {
    const row = this.lines.length;
    this.meanings.push(meaning);
    this.lines.push(new Int32Array(this.horizon).fill(capacity));
    this.conflictLists.push([]);
    this.standstills.push(NEVER);
    this.heaterOf.push(-1);
    this.classOf.push(0);
    this.overtimes.push(null);
    return row;
  }

  /** A new row with a capacity by minute. */
  addLine(meaning: RowMeaning, line: Int32Array, overtime: Overtime | null, leastRate = 0): number {
    const row = this.add(meaning, 0);
    this.lines[row] = line;
    this.overtimes[row] = overtime;
    if (overtime) this.overtimeRates.set(row, leastRate);
    return row;
  }

  /** Nothing is free on the row in [from, to). */
  close(row: number, from: number, to: number): void {
    this.lines[row]!.fill(0, Math.max(0, from), Math.min(this.horizon, to));
  }

  /** At most so much is free on the row in [from, to). */
  shrink(row: number, from: number, to: number, most: number): void {
    const line = this.lines[row]!;
    for (let t = Math.max(0, from); t < Math.min(this.horizon, to); t++) line[t] = Math.min(line[t]!, most);
  }

  /** No less than so much is free at a minute. */
  atLeast(row: number, minute: number, amount: number): void {
    const line = this.lines[row]!;
    if (minute < this.horizon && line[minute]! < amount) line[minute] = amount;
  }

  /** Work on `row` keeps `other` clear from `before` minutes before it to `after` minutes after it. */
  exclude(row: number, other: number, before: number, after: number): void {
    this.conflictLists[row]!.push(other, before, after);
  }

  /** Minutes between the row and its rivals do not pass in these, from..to pairs: call before the row is used. */
  standStill(row: number, spans: Int32Array): void {
    this.standstills[row] = spans;
  }

  /** A heater by its exact rates; the search adds up whole thousandths. */
  addHeater(heater: Omit<Heater, keyof HeaterRates>, rates: HeaterRates): number {
    this.heaterRates.push(rates);
    const { costPerMinute, changeCost } = rates;
    return (
      this.heaters.push({ ...heater, costPerMinute: Math.round(costPerMinute), changeCost: Math.round(changeCost) }) - 1
    );
  }

  heat(row: number, heater: number, klass: number): void {
    this.heaterOf[row] = heater;
    this.classOf[row] = klass;
  }

  heaterAt(row: number): number {
    return this.heaterOf[row]!;
  }

  classAt(row: number): number {
    return this.classOf[row]!;
  }

  /** The row's heater has stretches other than before. */
  setStretches(heater: number, stretches: Int32Array): void {
    this.heaters[heater] = { ...this.heaters[heater]!, stretches };
  }

  /**
   * Takes an amount of a row for good in [from, to), and blocks its rivals by `block` as far as they are excluded; after it as if it had
   * lasted until `rivalsTo`.
   */
  use(row: number, from: number, to: number, amount: number, block: number, rivalsTo = to): void {
    const lower = (line: Int32Array, low: number, high: number, by: number): void => {
      for (let t = Math.max(0, low); t < Math.min(this.horizon, high); t++) line[t] = line[t]! - by;
    };
    lower(this.lines[row]!, from, to, amount);
    const conflicts = this.conflictLists[row]!;
    for (let c = 0; c < conflicts.length; c += 3)
      lower(
        this.lines[conflicts[c]!]!,
        clearUntil(this.standstills[row]!, from, conflicts[c + 1]!),
        clearFrom(this.standstills[row]!, rivalsTo, conflicts[c + 2]!),
        block,
      );
  }

  /** Everything is plentiful before a minute, but for vans, whose rows do not go by time. */
  freePast(minute: number, plenty: number): void {
    this.lines.forEach((line, row) => {
      if (this.meanings[row]!.kind !== "van") line.fill(plenty, 0, Math.max(0, minute));
    });
  }

  /** Capacity of a row at a minute. */
  at(row: number, minute: number): number {
    return this.lines[row]![minute]!;
  }

  /** Does the row share its unit with rows of other classes? */
  isShared(row: number): boolean {
    return this.conflictLists[row]!.length > 0;
  }

  get rowCount(): number {
    return this.lines.length;
  }

  /** The arrays of the search model. */
  arrays() {
    const capacity = new Int32Array(this.lines.length * this.horizon);
    this.lines.forEach((line, row) => {
      capacity.set(line, row * this.horizon);
    });
    return {
      horizon: this.horizon,
      rowCount: this.lines.length,
      capacity,
      conflicts: this.conflictLists.map((list) => Int32Array.from(list)),
      standstills: this.standstills,
      heaterOfRow: Int32Array.from(this.heaterOf),
      classOfRow: Int32Array.from(this.classOf),
      overtimeOfRow: this.overtimes,
      heaters: this.heaters,
    };
  }
}
