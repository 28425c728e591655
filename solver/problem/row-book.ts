import type { LimitKind } from "../../schemas/index.js";
import { clearFrom, clearUntil } from "../search/clearance.js";
import type { Heater, Overtime } from "../search/model.js";

const NEVER = new Int32Array(0);

/** What a row of the search model stands for. */
export interface RowMeaning {
  /** What an order that it holds back is told. */
  readonly kind: LimitKind;
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
  /** What rows offer, [row * horizon + minute], with room for rows to come: one array, for there are thousands of rows in a morning's problems. */
  private offered: Int32Array;
  /** A search model has it: it is copied before it changes again. */
  private isGivenOut = false;
  private readonly conflictLists: number[][] = [];
  private readonly standstills: Int32Array[] = [];
  private readonly heaterOf: number[] = [];
  private readonly classOf: number[] = [];
  private readonly overtimes: (Overtime | null)[] = [];

  /** With room for so many rows; more are a matter of copying. */
  constructor(horizon: number, rows: number) {
    this.horizon = horizon;
    this.offered = new Int32Array(rows * horizon);
  }

  /** What may be written to. */
  private get own(): Int32Array {
    if (this.isGivenOut) this.offered = this.offered.slice();
    this.isGivenOut = false;
    return this.offered;
  }

  private fill(row: number, from: number, to: number, amount: number): void {
    const base = row * this.horizon;
    this.own.fill(amount, base + Math.max(0, from), base + Math.max(0, Math.min(this.horizon, to)));
  }

  /** A new row with a constant capacity. */
  add(meaning: RowMeaning, capacity: number): number {
    const row = this.rowCount;
    this.meanings.push(meaning);
    const length = (row + 1) * this.horizon;
    if (length > this.offered.length) {
      const wider = new Int32Array(2 * length);
      wider.set(this.offered);
      this.offered = wider;
      this.isGivenOut = false;
    }
    if (capacity !== 0) this.fill(row, 0, this.horizon, capacity);
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
    this.own.set(line, row * this.horizon);
    this.overtimes[row] = overtime;
    if (overtime) this.overtimeRates.set(row, leastRate);
    return row;
  }

  /** Nothing is free on the row in [from, to). */
  close(row: number, from: number, to: number): void {
    this.fill(row, from, to, 0);
  }

  /** At most so much is free on the row in [from, to). */
  shrink(row: number, from: number, to: number, most: number): void {
    const { own } = this;
    const base = row * this.horizon;
    for (let t = Math.max(0, from); t < Math.min(this.horizon, to); t++) own[base + t] = Math.min(own[base + t]!, most);
  }

  /** No less than so much is free at a minute. */
  atLeast(row: number, minute: number, amount: number): void {
    if (minute < this.horizon && this.at(row, minute) < amount) this.own[row * this.horizon + minute] = amount;
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
    this.lower(row, from, to, amount);
    const conflicts = this.conflictLists[row]!;
    for (let c = 0; c < conflicts.length; c += 3)
      this.lower(
        conflicts[c]!,
        clearUntil(this.standstills[row]!, from, conflicts[c + 1]!),
        clearFrom(this.standstills[row]!, rivalsTo, conflicts[c + 2]!),
        block,
      );
  }

  private lower(row: number, from: number, to: number, by: number): void {
    const { own } = this;
    const base = row * this.horizon;
    const last = base + Math.min(this.horizon, to);
    for (let i = base + Math.max(0, from); i < last; i++) own[i] = own[i]! - by;
  }

  /** Everything is plentiful before a minute, but for vans, whose rows do not go by time. */
  freePast(minute: number, plenty: number): void {
    for (let row = 0; row < this.rowCount; row++)
      if (this.meanings[row]!.kind !== "van") this.fill(row, 0, minute, plenty);
  }

  /** Capacity of a row at a minute. */
  at(row: number, minute: number): number {
    return this.offered[row * this.horizon + minute]!;
  }

  /** Does the row share its unit with rows of other classes? */
  isShared(row: number): boolean {
    return this.conflictLists[row]!.length > 0;
  }

  get rowCount(): number {
    return this.meanings.length;
  }

  /** The arrays of the search model. */
  arrays() {
    this.isGivenOut = true;
    return {
      horizon: this.horizon,
      rowCount: this.rowCount,
      capacity: this.offered.subarray(0, this.rowCount * this.horizon),
      conflicts: this.conflictLists.map((list) => (list.length > 0 ? new Int32Array(list) : NEVER)),
      standstills: this.standstills,
      heaterOfRow: new Int32Array(this.heaterOf),
      classOfRow: new Int32Array(this.classOf),
      overtimeOfRow: this.overtimes,
      heaters: this.heaters,
    };
  }
}
