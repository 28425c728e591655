import { MinuteSet } from "./minute-set.js";
import { type Hold, MAX_OPERATIONS, type Mode, type Operation } from "./model.js";
import type { State } from "./state.js";
import { crewMinutes, keepClear, keepCrewed } from "./sweeps.js";

/** Minutes after the nearest start in which one is looked for first. */
const NEAR = 16;

/** Backward passes over what follows the anchor: when a chain ends at the earliest, by the minute at which the anchor ends. */
export class FinishPasses {
  /** Per operation after the anchor: by the end of the operation before it, its start, and the end of the chain. */
  readonly startAfter: Int32Array[] = [];
  readonly finishAfter: Int32Array[] = [];
  private readonly state: State;
  /** By start of the operation at hand: when the chain then ends, -1 if it may not start there. */
  private readonly finishIfStarted: Int32Array;
  private allowed: MinuteSet;
  private kept: MinuteSet;
  private readonly afterFrom = new Int32Array(MAX_OPERATIONS + 1);
  private readonly afterTo = new Int32Array(MAX_OPERATIONS + 1);

  constructor(state: State) {
    const size = state.horizon + 2;
    this.state = state;
    this.finishIfStarted = new Int32Array(size);
    this.allowed = new MinuteSet(state.horizon);
    this.kept = new MinuteSet(state.horizon);
    for (let k = 0; k <= MAX_OPERATIONS; k++) {
      this.startAfter.push(new Int32Array(size).fill(-1));
      this.finishAfter.push(new Int32Array(size).fill(-1));
    }
  }

  /** For ends of the anchor in [low, high]. */
  run(mode: Mode, low: number, high: number): void {
    const last = mode.operations.length - 1;
    this.afterFrom[mode.anchor + 1] = low;
    this.afterTo[mode.anchor + 1] = high;
    for (let k = mode.anchor + 1; k < last; k++) {
      const minutes = mode.operations[k]!.alternatives[0]!.minutes;
      this.afterFrom[k + 1] = this.afterFrom[k]! + mode.holds[k]!.least + minutes;
      this.afterTo[k + 1] = Math.min(this.state.horizon, this.afterTo[k]! + mode.holds[k]!.greatest + minutes);
    }
    for (let k = last; k > mode.anchor; k--) {
      const from = this.afterFrom[k]!;
      const to = this.afterTo[k]!;
      const hold = mode.holds[k]!;
      const operation = mode.operations[k]!;
      const firstStart = from + hold.least;
      const { minutes } = operation.alternatives[0]!;
      const furthest = Math.min(to + hold.greatest, this.state.horizon - minutes, operation.to);
      const nearest = to + hold.least;
      // Every end goes to the nearest start: those beyond one that the last end can go to are not asked for.
      let lastStart = Math.min(furthest, nearest + NEAR);
      this.finishIf(k, operation, k === last, mode.finishBy, firstStart, lastStart);
      if (lastStart < furthest && !this.isAnyStart(Math.max(nearest, firstStart), lastStart)) {
        lastStart = furthest;
        this.finishIf(k, operation, k === last, mode.finishBy, firstStart, lastStart);
      }
      this.joinHold(k, hold, from, to, firstStart, lastStart);
    }
  }

  private isAnyStart(from: number, to: number): boolean {
    for (let s = from; s <= to; s++) if (this.finishIfStarted[s]! >= 0) return true;
    return false;
  }

  private finishIf(
    k: number,
    operation: Operation,
    isLast: boolean,
    finishBy: number,
    firstStart: number,
    lastStart: number,
  ): void {
    if (firstStart > lastStart) return;
    this.allow(operation, Math.max(firstStart, operation.from), lastStart);
    const ifStarted = this.finishIfStarted;
    const { minutes } = operation.alternatives[0]!;
    const later = isLast ? null : this.finishAfter[k + 1]!;
    const { count, from, to } = this.allowed;
    ifStarted.fill(-1, firstStart, lastStart + 1);
    for (let n = 0; n < count; n++) {
      for (let s = from[n]!; s <= to[n]!; s++) {
        const finish = later === null ? s + minutes : later[s + minutes]!;
        if (finish <= finishBy) ifStarted[s] = finish;
      }
    }
  }

  /** Those starts in [first, last] at which the operation has its people and a unit. */
  private allow(operation: Operation, first: number, last: number): void {
    const { free, horizon } = this.state;
    const { crew, alternatives } = operation;
    const { minutes } = alternatives[0]!;
    this.allowed.clear();
    this.allowed.add(first, last);
    if (crew) {
      this.kept.clear();
      keepCrewed(this.allowed, free, horizon, crew, crewMinutes(operation), this.kept);
      this.swap();
    }
    if (minutes === 0) return;
    for (let i = 0; i < alternatives.length; i++) if (alternatives[i]!.row < 0) return;
    this.kept.clear();
    for (let i = 0; i < alternatives.length; i++) {
      const { row, amount } = alternatives[i]!;
      keepClear(this.allowed, free, horizon, row, amount, minutes, this.kept);
    }
    this.swap();
  }

  private swap(): void {
    const { allowed } = this;
    this.allowed = this.kept;
    this.kept = allowed;
  }

  /** From ends of the operation before, over the hold, to the nearest start that leads to an end. */
  private joinHold(k: number, hold: Hold, low: number, high: number, firstStart: number, lastStart: number): void {
    const startBy = this.startAfter[k]!;
    const finishBy = this.finishAfter[k]!;
    startBy.fill(-1, low, high + 1);
    finishBy.fill(-1, low, high + 1);
    if (hold.rows.length === 0) this.joinOnRow(k, hold, -1, low, high, firstStart, lastStart);
    for (let i = 0; i < hold.rows.length; i++) this.joinOnRow(k, hold, hold.rows[i]!, low, high, firstStart, lastStart);
  }

  private joinOnRow(
    k: number,
    hold: Hold,
    row: number,
    low: number,
    high: number,
    firstStart: number,
    lastStart: number,
  ): void {
    const { horizon, free, plentiful } = this.state;
    const { least, greatest, amount } = hold;
    const isLimited = row >= 0 && plentiful[row] === 0;
    const ifStarted = this.finishIfStarted;
    const startBy = this.startAfter[k]!;
    const finishBy = this.finishAfter[k]!;
    const base = row * horizon;
    // The first minute without room from the end at hand on; minutes beyond the last start do not matter.
    let bad = horizon + 1;
    let scan = Math.min(lastStart, horizon);
    let near = -1;
    for (let s = lastStart; s > high + least; s--) if (ifStarted[s]! >= 0) near = s;
    for (let e = high; e >= low; e--) {
      const s = e + least;
      if (s <= lastStart && s >= firstStart && ifStarted[s]! >= 0) near = s;
      if (isLimited) {
        while (scan > e) {
          scan--;
          if (free[base + scan]! < amount) bad = scan;
        }
      }
      if (near < 0 || near - e > greatest || bad < near) continue;
      startBy[e] = near;
      finishBy[e] = ifStarted[near]!;
    }
  }
}
