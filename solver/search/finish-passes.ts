import type { Mode } from "./model.js";
import { MAX_OPERATIONS } from "./model.js";
import type { Scanner } from "./scanner.js";
import type { State } from "./state.js";

/** Backward passes over what follows the anchor: when a chain ends at the earliest, by the minute at which the anchor ends. */
export class FinishPasses {
  /** Per operation after the anchor: by the end of the operation before it, its start, and the end of the chain. */
  readonly startAfter: Int32Array[] = [];
  readonly finishAfter: Int32Array[] = [];
  private readonly state: State;
  private readonly scanner: Scanner;
  private readonly finishIfStarted: Int32Array;
  private readonly afterFrom = new Int32Array(MAX_OPERATIONS + 1);
  private readonly afterTo = new Int32Array(MAX_OPERATIONS + 1);
  private readonly holdBad = new Int32Array(MAX_OPERATIONS * 8);
  private mode!: Mode;

  constructor(state: State, scanner: Scanner) {
    const size = state.horizon + 2;
    this.state = state;
    this.scanner = scanner;
    this.finishIfStarted = new Int32Array(size);
    for (let k = 0; k <= MAX_OPERATIONS; k++) {
      this.startAfter.push(new Int32Array(size).fill(-1));
      this.finishAfter.push(new Int32Array(size).fill(-1));
    }
  }

  /** Backward passes after the anchor: for its ends in [low, high], when the chain ends at the earliest. */
  run(mode: Mode, low: number, high: number): void {
    this.mode = mode;
    const last = mode.operations.length - 1;
    this.afterFrom[mode.anchor + 1] = low;
    this.afterTo[mode.anchor + 1] = high;
    for (let k = mode.anchor + 1; k < last; k++) {
      const minutes = mode.operations[k]!.alternatives[0]!.minutes;
      this.afterFrom[k + 1] = this.afterFrom[k]! + mode.holds[k]!.least + minutes;
      this.afterTo[k + 1] = Math.min(this.state.horizon, this.afterTo[k]! + mode.holds[k]!.greatest + minutes);
    }
    for (let k = last; k > mode.anchor; k--) this.finishOne(k, k === last, this.afterFrom[k]!, this.afterTo[k]!);
  }

  private finishOne(k: number, isLast: boolean, low: number, high: number): void {
    const { horizon, free } = this.state;
    const operation = this.mode.operations[k]!;
    const hold = this.mode.holds[k]!;
    const startBy = this.startAfter[k]!;
    const finishBy = this.finishAfter[k]!;
    const ifStarted = this.finishIfStarted;
    const alternatives = operation.alternatives;
    const minutes = alternatives[0]!.minutes;
    const firstStart = low + hold.least;
    const lastStart = Math.min(high + hold.greatest, horizon - minutes, operation.to);
    const crewCount = operation.crew ? operation.crew.rows.length : 0;
    this.scanner.startOperation(firstStart, alternatives.length, crewCount);
    for (let s = firstStart; s <= lastStart; s++) {
      ifStarted[s] = -1;
      if (s < operation.from) continue;
      const end = s + minutes;
      const finish = isLast ? end : this.finishAfter[k + 1]![end]!;
      if (finish < 0 || finish > this.mode.finishBy) continue;
      if (crewCount > 0 && !this.scanner.crewFits(operation, s, minutes)) continue;
      for (let i = 0; i < alternatives.length; i++) {
        if (this.scanner.alternativeFits(alternatives[i]!.row, alternatives[i]!.amount, i, s, end)) {
          ifStarted[s] = finish;
          break;
        }
      }
    }
    const rows = hold.rows;
    for (let i = 0; i < rows.length; i++) {
      let bad = 1 << 29;
      const base = rows[i]! * horizon;
      for (let t = Math.min(lastStart, horizon) - 1; t > high; t--) if (free[base + t]! < hold.amount) bad = t;
      this.holdBad[i] = bad;
    }
    let near = -1;
    for (let s = lastStart; s > high + hold.least; s--) if (ifStarted[s]! >= 0) near = s;
    for (let e = high; e >= low; e--) {
      const s = e + hold.least;
      if (s >= firstStart && s <= lastStart && ifStarted[s]! >= 0) near = s;
      startBy[e] = -1;
      finishBy[e] = -1;
      let clear = rows.length === 0;
      for (let i = 0; i < rows.length; i++) {
        if (e < horizon && free[rows[i]! * horizon + e]! < hold.amount) this.holdBad[i] = e;
        if (near >= 0 && this.holdBad[i]! >= near) clear = true;
      }
      if (near < 0 || near - e > hold.greatest || !clear) continue;
      startBy[e] = near;
      finishBy[e] = ifStarted[near]!;
    }
  }
}
