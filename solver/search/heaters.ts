import type { Heater, SearchModel } from "./model.js";

/**
 * What is on when: for each heater its loads in order of start, from which on-time and setpoint changes follow.
 * Costs are kept so that adding and removing a load are exact inverses.
 */
export class HeaterLog {
  private readonly heaters: readonly Heater[];
  /** Loads on each heater by start: parallel arrays. */
  readonly starts: number[][];
  readonly ends: number[][];
  readonly classes: number[][];
  /** Per heater and stretch: first start (or a large number) and last end (or -1). */
  readonly first: Int32Array[];
  readonly last: Int32Array[];
  cost = 0;

  constructor(model: SearchModel) {
    this.heaters = model.heaters;
    this.starts = model.heaters.map(() => []);
    this.ends = model.heaters.map(() => []);
    this.classes = model.heaters.map(() => []);
    this.first = model.heaters.map((heater) => new Int32Array(heater.stretches.length / 2).fill(1 << 29));
    this.last = model.heaters.map((heater) => new Int32Array(heater.stretches.length / 2).fill(-1));
  }

  /** The stretch that holds [start, ...), or -1. */
  stretchAt(heater: number, start: number): number {
    const stretches = this.heaters[heater]!.stretches;
    for (let i = 0; i < stretches.length; i += 2) {
      if (start >= stretches[i]! && start < stretches[i + 1]!) return i >> 1;
    }
    return -1;
  }

  add(heater: number, start: number, end: number, klass: number): void {
    this.cost -= this.costOf(heater);
    const starts = this.starts[heater]!;
    let at = starts.length;
    while (at > 0 && starts[at - 1]! > start) at--;
    starts.splice(at, 0, start);
    this.ends[heater]!.splice(at, 0, end);
    this.classes[heater]!.splice(at, 0, klass);
    this.refresh(heater);
    this.cost += this.costOf(heater);
  }

  remove(heater: number, start: number, end: number, klass: number): void {
    this.cost -= this.costOf(heater);
    const starts = this.starts[heater]!;
    const ends = this.ends[heater]!;
    const classes = this.classes[heater]!;
    let at = 0;
    while (starts[at] !== start || ends[at] !== end || classes[at] !== klass) at++;
    starts.splice(at, 1);
    ends.splice(at, 1);
    classes.splice(at, 1);
    this.refresh(heater);
    this.cost += this.costOf(heater);
  }

  private refresh(heater: number): void {
    const first = this.first[heater]!;
    const last = this.last[heater]!;
    first.fill(1 << 29);
    last.fill(-1);
    const starts = this.starts[heater]!;
    const ends = this.ends[heater]!;
    for (let i = 0; i < starts.length; i++) {
      const stretch = this.stretchAt(heater, starts[i]!);
      if (starts[i]! < first[stretch]!) first[stretch] = starts[i]!;
      if (ends[i]! > last[stretch]!) last[stretch] = ends[i]!;
    }
  }

  /** On-time and setpoint changes of one heater. */
  costOf(heater: number): number {
    const { leadMinutes, costPerMinute, changeCost } = this.heaters[heater]!;
    const first = this.first[heater]!;
    const last = this.last[heater]!;
    let minutes = 0;
    for (let i = 0; i < first.length; i++) if (last[i]! >= 0) minutes += last[i]! - first[i]! + leadMinutes;
    let changes = 0;
    if (changeCost > 0) {
      const classes = this.classes[heater]!;
      for (let i = 1; i < classes.length; i++) if (classes[i] !== classes[i - 1]) changes++;
    }
    return minutes * costPerMinute + changes * changeCost;
  }
}
