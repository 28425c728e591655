import { clearFrom, clearUntil } from "./clearance.js";
import { HeaterLog, NO_LOAD } from "./heaters.js";
import {
  type Batch,
  BLOCK,
  type CrewNeed,
  type LoadHome,
  MAX_OPERATIONS,
  MAX_TAKES,
  type SearchModel,
} from "./model.js";
import { plentifulRows } from "./plentiful.js";
import { addTo, firstWithout } from "./sweeps.js";

/** Numbers of one take: row, from, to, amount. */
export const TAKE = 4;
/** Numbers that the takes of one load are kept in. */
export const STRIDE = MAX_TAKES * TAKE;

/**
 * A plan under construction: where every batch and load is, and what that leaves free. Everything that is put down is
 * recorded as takes (row, from, to, amount), so that lifting is the exact inverse.
 */
export class State {
  readonly model: SearchModel;
  readonly horizon: number;
  /** By row and minute. What is taken of a plentiful row is not counted. */
  readonly free: Int32Array;
  /** Per row 1 where it cannot run short; all 0 until `leavePlentiful`. */
  plentiful: Uint8Array;
  readonly heaters: HeaterLog;
  /** Per batch: chosen mix option (-1: not mixed) and its start. */
  readonly mixOption: Int32Array;
  readonly mixStart: Int32Array;
  /** Per batch: the crew row that mixes it, -1 when nobody. */
  readonly mixCrew: Int32Array;
  /** Per batch: how many of its loads are placed. */
  readonly placedOfBatch: Int32Array;
  /** Per load: chosen mode, -1 when it is not made. */
  readonly mode: Int32Array;
  /** [load * MAX_OPERATIONS + operation]: start and chosen alternative. */
  readonly start: Int32Array;
  readonly alternative: Int8Array;
  /** Per load: when its chain ends. */
  readonly finish: Int32Array;
  readonly takes: Int32Array;
  readonly takeCount: Int32Array;
  /** Per load: what it costs when it is not made. The model's, until a search weighs it anew. */
  readonly dropCost: Int32Array;
  /** Loads on each trip. */
  readonly tripLoads: Int32Array;
  shortCost = 0;
  lateCost = 0;
  earlyCost = 0;
  overtimeCost = 0;
  tripCost = 0;
  /** Of loads and mixes that are not where the plan in force has them. */
  moveCost = 0;

  constructor(model: SearchModel) {
    const loads = model.loads.length;
    const batches = model.batches.length;
    this.model = model;
    this.horizon = model.horizon;
    this.free = model.capacity.slice();
    this.plentiful = new Uint8Array(model.rowCount);
    this.heaters = new HeaterLog(model);
    this.mixOption = new Int32Array(batches).fill(-1);
    this.mixStart = new Int32Array(batches).fill(-1);
    this.mixCrew = new Int32Array(batches).fill(-1);
    this.placedOfBatch = new Int32Array(batches);
    this.mode = new Int32Array(loads).fill(-1);
    this.start = new Int32Array(loads * MAX_OPERATIONS);
    this.alternative = new Int8Array(loads * MAX_OPERATIONS);
    this.finish = new Int32Array(loads).fill(-1);
    this.takes = new Int32Array(loads * STRIDE);
    this.takeCount = new Int32Array(loads);
    this.tripLoads = new Int32Array(model.trips.length);
    this.dropCost = Int32Array.from(model.loads, (load) => load.dropCost);
    for (const cost of this.dropCost) this.shortCost += cost;
    for (const { heater, start, end, klass } of model.firings ?? [])
      this.heaters.add(heater, start, end, klass, NO_LOAD);
  }

  get cost(): number {
    const { shortCost, lateCost, earlyCost, overtimeCost, tripCost, moveCost, heaters } = this;
    return shortCost + lateCost + earlyCost + overtimeCost + tripCost + moveCost + heaters.cost;
  }

  /**
   * From now on what cannot run short is not counted, whatever is taken of it. Worth it for a search: a first plan or a first repair is done before it is known which
   * rows those are.
   */
  leavePlentiful(): void {
    const { model, horizon } = this;
    const plentiful = plentifulRows(model);
    if (this.plentiful === plentiful) return;
    this.plentiful = plentiful;
    for (let row = 0; row < plentiful.length; row++) {
      const at = row * horizon;
      if (plentiful[row] === 1) this.free.set(model.capacity.subarray(at, at + horizon), at);
    }
  }

  /** From now on a load costs so much when it is not made. */
  reweigh(load: number, dropCost: number): void {
    if (this.mode[load]! < 0) this.shortCost += dropCost - this.dropCost[load]!;
    this.dropCost[load] = dropCost;
  }

  mixEnd(batch: number): number {
    return this.mixStart[batch]! + this.model.batches[batch]!.options[this.mixOption[batch]!]!.minutes;
  }

  /** Is `amount` free on the row in [from, to)? */
  fits(row: number, from: number, to: number, amount: number): boolean {
    if (from < 0 || to > this.horizon) return false;
    if (this.plentiful[row] === 1) return true;
    return firstWithout(this.free, row * this.horizon, amount, from, to) === to;
  }

  /** The first row of the need with its heads free in [from, to), or -1. */
  crewFor(need: CrewNeed, from: number, to: number): number {
    for (let i = 0; i < need.rows.length; i++) if (this.fits(need.rows[i]!, from, to, need.heads)) return need.rows[i]!;
    return -1;
  }

  /** Takes (sign -1) or gives back (sign 1) an amount of a row in [from, to), and excludes or readmits its rivals. */
  shift(row: number, from: number, to: number, amount: number, sign: 1 | -1): void {
    if (this.plentiful[row] === 1) return;
    const horizon = this.horizon;
    const free = this.free;
    const overtime = this.model.overtimeOfRow[row];
    const base = row * horizon;
    const delta = sign * amount;
    if (overtime) {
      let minutes = 0;
      for (let t = from; t < to; t++) {
        const extra = overtime.heads[t]!;
        const before = free[base + t]!;
        if (extra > 0) minutes += Math.max(0, extra - before - delta) - Math.max(0, extra - before);
        free[base + t] = before + delta;
      }
      this.overtimeCost += minutes * overtime.costPerMinute;
    } else {
      addTo(free, base, delta, from, to);
    }
    const conflicts = this.model.conflicts[row]!;
    if (conflicts.length === 0) return;
    const standstills = this.model.standstills[row]!;
    const block = sign * BLOCK;
    for (let c = 0; c < conflicts.length; c += 3) {
      const low = Math.max(0, clearUntil(standstills, from, conflicts[c + 1]!));
      const high = Math.min(horizon, clearFrom(standstills, to, conflicts[c + 2]!));
      addTo(free, conflicts[c]! * horizon, block, low, high);
    }
  }

  /** Records and makes one take for a load. */
  take(load: number, row: number, from: number, to: number, amount: number): void {
    if (to <= from) return;
    const at = load * STRIDE + this.takeCount[load]! * TAKE;
    this.takeCount[load] = this.takeCount[load]! + 1;
    this.takes[at] = row;
    this.takes[at + 1] = from;
    this.takes[at + 2] = to;
    this.takes[at + 3] = amount;
    this.shift(row, from, to, amount, -1);
  }

  /** Puts the mix of a batch on an option at a start; the caller has found it free. */
  placeMix(batch: number, option: number, start: number, crewRow: number): void {
    const mix = this.model.batches[batch]!.options[option]!;
    this.mixOption[batch] = option;
    this.mixStart[batch] = start;
    this.mixCrew[batch] = crewRow;
    this.moveCost += mixMoveCost(this.model.batches[batch]!, option, start);
    this.shift(mix.row, start, start + mix.minutes, 1, -1);
    if (crewRow >= 0) this.shift(crewRow, start, start + mix.minutes, mix.crew!.heads, -1);
  }

  liftMix(batch: number): void {
    const mix = this.model.batches[batch]!.options[this.mixOption[batch]!]!;
    const start = this.mixStart[batch]!;
    this.moveCost -= mixMoveCost(this.model.batches[batch]!, this.mixOption[batch]!, start);
    this.shift(mix.row, start, start + mix.minutes, 1, 1);
    const crewRow = this.mixCrew[batch]!;
    if (crewRow >= 0) this.shift(crewRow, start, start + mix.minutes, mix.crew!.heads, 1);
    this.mixOption[batch] = -1;
    this.mixStart[batch] = -1;
    this.mixCrew[batch] = -1;
  }

  /** Counts a load whose takes, starts and mode have been recorded as made. */
  settle(load: number, mode: number, finish: number): void {
    this.mode[load] = mode;
    this.finish[load] = finish;
    this.account(load, 1);
  }

  /** Lifts a load: gives everything back; the record of takes is emptied. */
  lift(load: number): void {
    this.account(load, -1);
    this.giveBack(load);
    this.mode[load] = -1;
    this.finish[load] = -1;
    this.takeCount[load] = 0;
  }

  /** Undoes the takes of a chain that could not be finished. */
  abandon(load: number): void {
    this.giveBack(load);
    this.takeCount[load] = 0;
  }

  private giveBack(load: number): void {
    const base = load * STRIDE;
    for (let i = this.takeCount[load]! - 1; i >= 0; i--) this.shiftTake(this.takes, base + i * TAKE, 1);
  }

  /** Adds (sign 1) or removes (-1) what a placed load costs and where it counts. */
  private account(load: number, sign: 1 | -1): void {
    const data = this.model.loads[load]!;
    const mode = data.modes[this.mode[load]!]!;
    const finish = this.finish[load]!;
    const delivered = mode.deliveredAt >= 0 ? mode.deliveredAt : finish;
    this.shortCost -= sign * this.dropCost[load]!;
    this.lateCost += sign * data.lateCost[delivered]!;
    this.earlyCost += sign * data.earlyCost[finish]!;
    if (data.home) this.moveCost += sign * this.loadMoveCost(load, data.home);
    this.placedOfBatch[data.batch] = this.placedOfBatch[data.batch]! + sign;
    if (mode.trip >= 0) {
      const before = this.tripLoads[mode.trip]!;
      this.tripLoads[mode.trip] = before + sign;
      const used = (sign > 0 && before === 0) || (sign < 0 && before === 1);
      if (used) this.tripCost += sign * this.model.trips[mode.trip]!.cost;
    }
    for (let k = 0; k < mode.operations.length; k++) {
      const at = load * MAX_OPERATIONS + k;
      const alternative = mode.operations[k]!.alternatives[this.alternative[at]!]!;
      if (alternative.row < 0) continue;
      const heater = this.model.heaterOfRow[alternative.row]!;
      if (heater < 0) continue;
      const start = this.start[at]!;
      const klass = this.model.classOfRow[alternative.row]!;
      if (sign > 0) this.heaters.add(heater, start, start + alternative.minutes, klass, load);
      else this.heaters.remove(heater, start, load);
    }
  }

  private loadMoveCost(load: number, home: LoadHome): number {
    const mode = this.model.loads[load]!.modes[this.mode[load]!]!;
    const at = load * MAX_OPERATIONS + mode.anchor;
    const { row } = mode.operations[mode.anchor]!.alternatives[this.alternative[at]!]!;
    const otherRow = row === home.row ? 0 : home.otherRowCost;
    const start = this.start[at]!;
    if (this.mode[load] !== home.mode) return home.moveCost[start]! + otherRow + home.otherModeCost;
    // At home it costs nothing: then the table need not be there.
    return start === home.starts[mode.anchor] ? otherRow : home.moveCost[start]! + otherRow;
  }

  /** Puts a load back where a saved record says that it was; the caller knows that it is free. */
  restore(load: number, record: LoadRecord): void {
    for (let i = 0; i < record.takeCount; i++) this.shiftTake(record.takes, i * TAKE, -1);
    this.adopt(load, record);
  }

  /** Puts a placed load back where a saved record says that it was; only what differs is shifted. */
  revert(load: number, record: LoadRecord): void {
    this.account(load, -1);
    const base = load * STRIDE;
    const before = record.takeCount;
    const now = this.takeCount[load]!;
    for (let i = 0; i < Math.max(before, now); i++) {
      const old = i * TAKE;
      const own = base + old;
      if (i < now && i < before) this.moveTake(this.takes, own, record.takes, old);
      else if (i < now) this.shiftTake(this.takes, own, 1);
      else this.shiftTake(record.takes, old, -1);
    }
    this.adopt(load, record);
  }

  /** Gives back the take at `own` of `now` and makes the one at `old` of `before`. */
  private moveTake(now: Int32Array, own: number, before: Int32Array, old: number): void {
    const row = now[own]!;
    const from = now[own + 1]!;
    const to = now[own + 2]!;
    const amount = now[own + 3]!;
    const oldFrom = before[old + 1]!;
    const oldTo = before[old + 2]!;
    const isSame = row === before[old] && amount === before[old + 3];
    if (isSame && (this.plentiful[row] === 1 || (from === oldFrom && to === oldTo))) return;
    const isPlain = this.model.conflicts[row]!.length === 0 && this.model.overtimeOfRow[row] === null;
    if (!isSame || !isPlain || to <= oldFrom || oldTo <= from) {
      this.shiftTake(now, own, 1);
      this.shiftTake(before, old, -1);
      return;
    }
    const at = row * this.horizon;
    if (from < oldFrom) addTo(this.free, at, amount, from, oldFrom);
    else addTo(this.free, at, -amount, oldFrom, from);
    if (to > oldTo) addTo(this.free, at, amount, oldTo, to);
    else addTo(this.free, at, -amount, to, oldTo);
  }

  private shiftTake(takes: Int32Array, at: number, sign: 1 | -1): void {
    this.shift(takes[at]!, takes[at + 1]!, takes[at + 2]!, takes[at + 3]!, sign);
  }

  private adopt(load: number, record: LoadRecord): void {
    this.takeCount[load] = record.takeCount;
    copyInto(record.takes, 0, this.takes, load * STRIDE, record.takeCount * TAKE);
    copyInto(record.start, 0, this.start, load * MAX_OPERATIONS, MAX_OPERATIONS);
    copyInto(record.alternative, 0, this.alternative, load * MAX_OPERATIONS, MAX_OPERATIONS);
    this.settle(load, record.mode, record.finish);
  }

  save(load: number, record: LoadRecord): void {
    record.mode = this.mode[load]!;
    record.finish = this.finish[load]!;
    record.takeCount = this.takeCount[load]!;
    if (record.takeCount > 0) {
      if (record.takes.length === 0) record.takes = new Int32Array(STRIDE);
      copyInto(this.takes, load * STRIDE, record.takes, 0, record.takeCount * TAKE);
    }
    copyInto(this.start, load * MAX_OPERATIONS, record.start, 0, MAX_OPERATIONS);
    copyInto(this.alternative, load * MAX_OPERATIONS, record.alternative, 0, MAX_OPERATIONS);
  }
}

function mixMoveCost({ home }: Batch, option: number, start: number): number {
  if (!home) return 0;
  // As with loads: at home the table need not be there.
  if (start === home.start) return option === home.option ? 0 : home.otherOptionCost;
  return home.moveCost[start]! + (option === home.option ? 0 : home.otherOptionCost);
}

/** A short copy without the views that set() needs. */
function copyInto<T extends Int32Array | Int8Array>(from: T, at: number, to: T, toAt: number, count: number): void {
  for (let i = 0; i < count; i++) to[toAt + i] = from[at + i]!;
}

/** A load's whereabouts, kept aside. */
export interface LoadRecord {
  mode: number;
  finish: number;
  takeCount: number;
  /** Room for them when there have been some: a first repair touches every load, and none of them was placed before. */
  takes: Int32Array;
  readonly start: Int32Array;
  readonly alternative: Int8Array;
}

const NO_TAKES = new Int32Array(0);

export function emptyRecord(): LoadRecord {
  return {
    mode: -1,
    finish: -1,
    takeCount: 0,
    takes: NO_TAKES,
    start: new Int32Array(MAX_OPERATIONS),
    alternative: new Int8Array(MAX_OPERATIONS),
  };
}
