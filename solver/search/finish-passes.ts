import { type Hold, MAX_OPERATIONS, type Mode, type Operation } from "./model.js";
import type { State } from "./state.js";
import { crewMinutes, markClear, strikeUncrewed } from "./sweeps.js";

/** Backward passes over what follows the anchor: when a chain ends at the earliest, by the minute at which the anchor ends. */
export class FinishPasses {
  /** Per operation after the anchor: by the end of the operation before it, its start, and the end of the chain. */
  readonly startAfter: Int32Array[] = [];
  readonly finishAfter: Int32Array[] = [];
  private readonly state: State;
  /** By start of the operation at hand: when the chain then ends, -1 if it may not start there. */
  private readonly finishIfStarted: Int32Array;
  private readonly mark: Uint8Array;
  private readonly afterFrom = new Int32Array(MAX_OPERATIONS + 1);
  private readonly afterTo = new Int32Array(MAX_OPERATIONS + 1);

  constructor(state: State) {
    const size = state.horizon + 2;
    this.state = state;
    this.finishIfStarted = new Int32Array(size);
    this.mark = new Uint8Array(size);
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
      const lastStart = Math.min(to + hold.greatest, this.state.horizon - minutes, operation.to);
      this.finishIf(k, operation, k === last, mode.finishBy, firstStart, lastStart);
      this.joinHold(k, hold, from, to, firstStart, lastStart);
    }
  }

  private finishIf(
    k: number,
    operation: Operation,
    isLast: boolean,
    finishBy: number,
    firstStart: number,
    lastStart: number,
  ): void {
    const ifStarted = this.finishIfStarted;
    const { minutes } = operation.alternatives[0]!;
    const later = isLast ? null : this.finishAfter[k + 1]!;
    for (let s = firstStart; s <= lastStart; s++) {
      const finish = later === null ? s + minutes : later[s + minutes]!;
      ifStarted[s] = finish <= finishBy && s >= operation.from ? finish : -1;
    }
    if (firstStart > lastStart) return;
    const { free, horizon } = this.state;
    const { mark } = this;
    const { crew, alternatives } = operation;
    if (crew) strikeUncrewed(free, horizon, crew, crewMinutes(operation), firstStart, lastStart, ifStarted, mark);
    if (minutes === 0 || alternatives.some(({ row }) => row < 0)) return;
    mark.fill(0, firstStart, lastStart + 1);
    for (let i = 0; i < alternatives.length; i++)
      markClear(free, alternatives[i]!.row * horizon, alternatives[i]!.amount, minutes, firstStart, lastStart, mark);
    for (let s = firstStart; s <= lastStart; s++) if (mark[s] === 0) ifStarted[s] = -1;
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
    const { horizon, free } = this.state;
    const { least, greatest, amount } = hold;
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
      if (row >= 0) {
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
