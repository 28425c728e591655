import type { Heater, Mode, SearchModel } from "./model.js";

const NOT_YET = 1 << 29;

/** What stands for a load where a heater is on for something that is no load of the model. */
export const NO_LOAD = -1;

/** Counts, for each heater, how many operations may be on it at most: over the loads, the most that one of its modes has there. */
class HeaterCount {
  readonly total: Int32Array;
  /** Of the load and mode that are being counted; what was counted of another is stale. */
  private readonly ofLoad: Int32Array;
  private readonly ofMode: Int32Array;
  private readonly loadOf: Int32Array;
  private readonly modeOf: Int32Array;
  private readonly operationOf: Int32Array;
  private modes = 0;
  private operations = 0;

  constructor(heaters: number) {
    this.total = new Int32Array(heaters);
    this.ofLoad = new Int32Array(heaters);
    this.ofMode = new Int32Array(heaters);
    this.loadOf = new Int32Array(heaters).fill(-1);
    this.modeOf = new Int32Array(heaters);
    this.operationOf = new Int32Array(heaters);
  }

  add(load: number, { operations }: Mode, heaterOfRow: Int32Array): void {
    this.modes++;
    for (const { alternatives } of operations) {
      this.operations++;
      for (const { row } of alternatives) {
        const heater = row < 0 ? -1 : heaterOfRow[row]!;
        if (heater < 0 || this.operationOf[heater] === this.operations) continue;
        this.operationOf[heater] = this.operations;
        this.count(load, heater);
      }
    }
  }

  private count(load: number, heater: number): void {
    if (this.modeOf[heater] !== this.modes) {
      this.modeOf[heater] = this.modes;
      this.ofMode[heater] = 0;
    }
    if (this.loadOf[heater] !== load) {
      this.loadOf[heater] = load;
      this.ofLoad[heater] = 0;
    }
    const count = this.ofMode[heater]! + 1;
    this.ofMode[heater] = count;
    if (count <= this.ofLoad[heater]!) return;
    this.ofLoad[heater] = count;
    this.total[heater] = this.total[heater]! + 1;
  }
}

function mostByHeater({ heaters, heaterOfRow, loads, firings }: SearchModel): Int32Array {
  const count = new HeaterCount(heaters.length);
  for (let load = 0; load < loads.length; load++) {
    let last: Mode["operations"] | null = null;
    for (const mode of loads[load]!.modes) {
      // On another trip the operations are the same.
      if (mode.operations !== last) count.add(load, mode, heaterOfRow);
      last = mode.operations;
    }
  }
  const { total } = count;
  for (const { heater } of firings ?? []) total[heater] = total[heater]! + 1;
  return total;
}

/**
 * What is on when: for each heater its loads in order of start, from which on-time and setpoint changes follow.
 * Costs are kept so that adding and removing a load are exact inverses.
 */
export class HeaterLog {
  /** Loads by start, all heaters one after another: heater h has [from(h), until(h)). */
  readonly starts: Int32Array;
  readonly ends: Int32Array;
  readonly classes: Int32Array;
  readonly loads: Int32Array;
  /** Of on-time and setpoint changes. */
  cost = 0;
  /** What setpoint changes count besides while the search is steered: no part of any plan's cost. */
  steering = 0;
  /** The share given to `steer` last. */
  steeredBy = 0;
  /** Per heater: what a setpoint change counts while searching, its cost and the steering. */
  readonly changeWeights: Int32Array;
  private readonly heaters: readonly Heater[];
  private readonly offsets: Int32Array;
  private readonly counts: Int32Array;
  /** Per heater: its setpoint changes. */
  private readonly changes: Int32Array;
  /** Per heater and stretch: first start (or a large number) and last end (or -1). */
  private readonly firsts: Int32Array;
  private readonly lasts: Int32Array;
  private readonly stretchOffsets: Int32Array;

  constructor(model: SearchModel) {
    const count = model.heaters.length;
    this.heaters = model.heaters;
    this.offsets = new Int32Array(count + 1);
    this.stretchOffsets = new Int32Array(count + 1);
    const most = mostByHeater(model);
    for (let h = 0; h < count; h++) {
      this.offsets[h + 1] = this.offsets[h]! + most[h]!;
      this.stretchOffsets[h + 1] = this.stretchOffsets[h]! + model.heaters[h]!.stretches.length / 2;
    }
    this.counts = new Int32Array(count);
    this.changes = new Int32Array(count);
    this.changeWeights = Int32Array.from(model.heaters, ({ changeCost }) => changeCost);
    this.starts = new Int32Array(this.offsets[count]!);
    this.ends = new Int32Array(this.offsets[count]!);
    this.classes = new Int32Array(this.offsets[count]!);
    this.loads = new Int32Array(this.offsets[count]!);
    this.firsts = new Int32Array(this.stretchOffsets[count]!).fill(NOT_YET);
    this.lasts = new Int32Array(this.stretchOffsets[count]!).fill(-1);
  }

  from(heater: number): number {
    return this.offsets[heater]!;
  }

  until(heater: number): number {
    return this.offsets[heater]! + this.counts[heater]!;
  }

  /** First start in a stretch, or a large number. */
  first(heater: number, stretch: number): number {
    return this.firsts[this.stretchOffsets[heater]! + stretch]!;
  }

  /** Last end in a stretch, or -1. */
  last(heater: number, stretch: number): number {
    return this.lasts[this.stretchOffsets[heater]! + stretch]!;
  }

  /** The stretch that holds [start, ...), or -1. */
  stretchAt(heater: number, start: number): number {
    const stretches = this.heaters[heater]!.stretches;
    for (let i = 0; i < stretches.length; i += 2) {
      if (start >= stretches[i]! && start < stretches[i + 1]!) return i >> 1;
    }
    return -1;
  }

  add(heater: number, start: number, end: number, klass: number, load: number): void {
    const { starts, ends, classes, loads } = this;
    const from = this.offsets[heater]!;
    let at = this.until(heater);
    while (at > from && starts[at - 1]! > start) {
      starts[at] = starts[at - 1]!;
      ends[at] = ends[at - 1]!;
      classes[at] = classes[at - 1]!;
      loads[at] = loads[at - 1]!;
      at--;
    }
    starts[at] = start;
    ends[at] = end;
    classes[at] = klass;
    loads[at] = load;
    this.counts[heater] = this.counts[heater]! + 1;
    this.countChanges(heater, this.changesAround(heater, at));
    const slot = this.stretchOffsets[heater]! + this.stretchAt(heater, start);
    const minutes = this.minutesOf(heater, slot);
    if (start < this.firsts[slot]!) this.firsts[slot] = start;
    if (end > this.lasts[slot]!) this.lasts[slot] = end;
    this.cost += (this.minutesOf(heater, slot) - minutes) * this.heaters[heater]!.costPerMinute;
  }

  remove(heater: number, start: number, load: number): void {
    const { starts, ends, classes, loads } = this;
    let at = this.offsets[heater]!;
    while (loads[at] !== load || starts[at] !== start) at++;
    const end = ends[at]!;
    this.countChanges(heater, -this.changesAround(heater, at));
    const last = this.until(heater) - 1;
    for (; at < last; at++) {
      starts[at] = starts[at + 1]!;
      ends[at] = ends[at + 1]!;
      classes[at] = classes[at + 1]!;
      loads[at] = loads[at + 1]!;
    }
    this.counts[heater] = this.counts[heater]! - 1;
    const stretch = this.stretchAt(heater, start);
    const slot = this.stretchOffsets[heater]! + stretch;
    if (this.firsts[slot] !== start && this.lasts[slot] !== end) return;
    const minutes = this.minutesOf(heater, slot);
    this.refresh(heater, stretch, slot);
    this.cost += (this.minutesOf(heater, slot) - minutes) * this.heaters[heater]!.costPerMinute;
  }

  /** From now on a setpoint change counts as dear as `share` of lighting the heater anew where it costs less; 0: what it costs. */
  steer(share: number): void {
    this.steeredBy = share;
    this.steering = 0;
    this.heaters.forEach(({ changeCost, leadMinutes, costPerMinute }, heater) => {
      const more = Math.max(0, Math.round(share * leadMinutes * costPerMinute) - changeCost);
      this.changeWeights[heater] = changeCost + more;
      this.steering += this.changes[heater]! * more;
    });
  }

  /** How many setpoint changes there are more for the entry at `at`. */
  private changesAround(heater: number, at: number): number {
    const { classes } = this;
    const own = classes[at]!;
    const hasBefore = at > this.offsets[heater]!;
    const hasAfter = at + 1 < this.until(heater);
    const before = hasBefore && classes[at - 1] !== own ? 1 : 0;
    const after = hasAfter && classes[at + 1] !== own ? 1 : 0;
    return before + after - (hasBefore && hasAfter && classes[at - 1] !== classes[at + 1] ? 1 : 0);
  }

  private countChanges(heater: number, more: number): void {
    if (more === 0) return;
    const { changeCost } = this.heaters[heater]!;
    this.changes[heater] = this.changes[heater]! + more;
    this.cost += more * changeCost;
    this.steering += more * (this.changeWeights[heater]! - changeCost);
  }

  /** On-time of one stretch. */
  private minutesOf(heater: number, slot: number): number {
    return this.lasts[slot]! < 0 ? 0 : this.lasts[slot]! - this.firsts[slot]! + this.heaters[heater]!.leadMinutes;
  }

  private refresh(heater: number, stretch: number, slot: number): void {
    const low = this.heaters[heater]!.stretches[2 * stretch]!;
    const high = this.heaters[heater]!.stretches[2 * stretch + 1]!;
    let first = NOT_YET;
    let last = -1;
    for (let i = this.offsets[heater]!, end = this.until(heater); i < end; i++) {
      const start = this.starts[i]!;
      if (start < low || start >= high) continue;
      if (start < first) first = start;
      if (this.ends[i]! > last) last = this.ends[i]!;
    }
    this.firsts[slot] = first;
    this.lasts[slot] = last;
  }
}
