import { type Hold, MAX_OPERATIONS, type Operation } from "./model.js";
import type { State } from "./state.js";
import { crewMinutes, firstWithout, lastWithout, markClear, strikeUncrewed } from "./sweeps.js";

/**
 * Forward passes over the operations up to the anchor: for each start of each operation the latest end of the operation
 * before it from which that start can be reached. Holds only get easier when they begin later, so the latest is always good
 * enough, and no choice made early can lead to a dead end.
 */
export class ForwardPasses {
  /** Slot k: reached ends of operation k-1 (slot 0: the mix): start of that operation by its end, -1 if not reached. */
  readonly startByEnd: Int32Array[] = [];
  readonly alternativeByEnd: Int8Array[] = [];
  /** Slot k: first and last of those ends. After the anchor's pass its slot holds the anchor's starts instead. */
  readonly endFrom = new Int32Array(MAX_OPERATIONS + 1);
  readonly endTo = new Int32Array(MAX_OPERATIONS + 1);
  /** Per operation up to the anchor: by its start, the end of the operation before it. */
  readonly endBefore: Int32Array[] = [];
  private readonly state: State;
  private readonly mark: Uint8Array;
  private from = 0;
  private to = -1;

  constructor(state: State) {
    const size = state.horizon + 2;
    this.state = state;
    this.mark = new Uint8Array(size);
    for (let k = 0; k <= MAX_OPERATIONS; k++) {
      this.startByEnd.push(new Int32Array(size).fill(-1));
      this.alternativeByEnd.push(new Int8Array(size));
      this.endBefore.push(new Int32Array(size).fill(-1));
    }
  }

  /** Which starts of operation k in [low, high] can be reached? False: none. */
  reach(k: number, operation: Operation, hold: Hold, low: number, high: number, isAnchor: boolean): boolean {
    const before = this.endBefore[k]!;
    const { horizon } = this.state;
    const until = Math.min(high, horizon);
    if (low > until) return false;
    this.reachOverHold(k, hold, low, until);
    if (!this.trim(before, low, until)) return false;
    if (operation.crew) {
      const minutes = crewMinutes(operation);
      strikeUncrewed(this.state.free, horizon, operation.crew, minutes, this.from, this.to, before, this.mark);
      if (!this.trim(before, this.from, this.to)) return false;
    }
    this.endFrom[k + 1] = this.from;
    this.endTo[k + 1] = this.to;
    return isAnchor || this.endOn(k, operation, before);
  }

  /** Narrows from..to to the starts that are left. */
  private trim(starts: Int32Array, low: number, high: number): boolean {
    let from = low;
    let to = high;
    while (from <= to && starts[from]! < 0) from++;
    while (to >= from && starts[to]! < 0) to--;
    this.from = from;
    this.to = to;
    return from <= to;
  }

  private reachOverHold(k: number, hold: Hold, low: number, high: number): void {
    this.endBefore[k]!.fill(-1, low, high + 1);
    if (hold.ride !== null) this.reachOverRide(k, hold, low, high);
    else if (hold.rows.length === 0) this.reachOnRow(k, hold, -1, low, high);
    else for (let i = 0; i < hold.rows.length; i++) this.reachOnRow(k, hold, i, low, high);
  }

  /** Adds what is reached with room on one row of the hold, or with none (-1: it needs no room). */
  private reachOnRow(k: number, hold: Hold, index: number, low: number, high: number): void {
    const { horizon, free } = this.state;
    const { least, greatest, amount } = hold;
    const previous = this.startByEnd[k]!;
    const previousTo = this.endTo[k]!;
    const before = this.endBefore[k]!;
    let next = Math.max(this.endFrom[k]!, low - greatest);
    const heated = index >= 0 && this.markHeat(hold, index, next, Math.min(previousTo, high - least));
    const { mark } = this;
    const base = index < 0 ? -1 : hold.rows[index]! * horizon;
    let latest = -1;
    let scan = base < 0 ? high : low;
    let bad = base < 0 ? -1 : lastWithout(free, base, amount, Math.min(next, low), low);
    for (let t = low; t <= high; t++) {
      const limit = Math.min(t - least, previousTo);
      while (next <= limit) {
        if (previous[next]! >= 0) latest = next;
        next++;
      }
      if (scan < t) {
        if (free[base + scan]! < amount) bad = scan;
        scan++;
      }
      if (latest < 0 || t - latest > greatest || bad >= latest) continue;
      if (!heated || mark[latest] === 1) before[t] = latest;
    }
  }

  /** The hold leaves its first place at one fixed minute and takes its second at another. */
  private reachOverRide(k: number, hold: Hold, low: number, high: number): void {
    const { horizon, free } = this.state;
    const { least, greatest, amount, rows } = hold;
    const { leave, arrive, rows: rowsAfter } = hold.ride!;
    const previous = this.startByEnd[k]!;
    const before = this.endBefore[k]!;
    const first = Math.max(this.endFrom[k]!, low - greatest);
    const last = Math.min(this.endTo[k]!, leave);
    let roomUntil = rowsAfter.length === 0 ? high : -1;
    for (let i = 0; i < rowsAfter.length; i++) {
      const bad = firstWithout(free, rowsAfter[i]! * horizon, amount, arrive, Math.max(arrive, high));
      if (bad > roomUntil) roomUntil = bad;
    }
    for (let i = 0; i < rows.length; i++) {
      const clearFrom = lastWithout(free, rows[i]! * horizon, amount, Math.min(first, leave), leave) + 1;
      const heated = this.markHeat(hold, i, first, last);
      let latest = -1;
      let next = first;
      for (let t = low; t <= high; t++) {
        const limit = Math.min(t - least, last);
        while (next <= limit) {
          if (previous[next]! >= 0) latest = next;
          next++;
        }
        if (latest < clearFrom || latest < 0 || t - latest > greatest || t < arrive || t > roomUntil) continue;
        if (!heated || this.mark[latest] === 1) before[t] = latest;
      }
    }
  }

  /** Marks the starts of the hold whose heat finds room; false when the row asks for none. */
  private markHeat(hold: Hold, index: number, from: number, to: number): boolean {
    const row = hold.heatRows.length > 0 ? hold.heatRows[index]! : -1;
    if (row < 0) return false;
    const { horizon, free } = this.state;
    this.mark.fill(0, Math.max(0, from), Math.max(0, to + 1));
    const base = row * horizon;
    // What is warmer at the end of the horizon than there is time to cool counts to the end.
    const whole = Math.min(to, horizon - hold.heatMinutes);
    markClear(free, base, hold.heatAmount, hold.heatMinutes, from, whole, this.mark);
    for (let t = Math.max(from, whole + 1); t <= to; t++) {
      if (firstWithout(free, base, hold.heatAmount, t, horizon) === horizon) this.mark[t] = 1;
    }
    return true;
  }

  /** Puts the operation on each of its alternatives wherever it can start: the ends for the next pass. */
  private endOn(k: number, operation: Operation, before: Int32Array): boolean {
    const { horizon, free } = this.state;
    const { from, to } = this;
    const own = this.startByEnd[k + 1]!;
    const ownAlternative = this.alternativeByEnd[k + 1]!;
    const { alternatives } = operation;
    let shortest = alternatives[0]!.minutes;
    let longest = shortest;
    for (let i = 1; i < alternatives.length; i++) {
      const { minutes } = alternatives[i]!;
      if (minutes < shortest) shortest = minutes;
      if (minutes > longest) longest = minutes;
    }
    const lowest = from + shortest;
    const highest = Math.min(horizon, to + longest);
    own.fill(-1, lowest, highest + 1);
    for (let a = 0; a < alternatives.length; a++) {
      const { row, amount, minutes } = alternatives[a]!;
      const last = Math.min(to, horizon - minutes);
      const base = row * horizon;
      if (row < 0 || minutes === 0) {
        for (let t = from; t <= last; t++) {
          if (before[t]! < 0) continue;
          own[t + minutes] = t;
          ownAlternative[t + minutes] = a;
        }
        continue;
      }
      let bad = lastWithout(free, base, amount, from, from + minutes - 1);
      for (let t = from, end = from + minutes; t <= last; t++, end++) {
        if (free[base + end - 1]! < amount) bad = end - 1;
        if (bad >= t || before[t]! < 0) continue;
        own[end] = t;
        ownAlternative[end] = a;
      }
    }
    if (!this.trim(own, lowest, highest)) return false;
    this.endFrom[k + 1] = this.from;
    this.endTo[k + 1] = this.to;
    return true;
  }
}
