import { MinuteSet } from "./minute-set.js";
import { type Hold, MAX_OPERATIONS, type Operation } from "./model.js";
import { Segments } from "./segments.js";
import type { State } from "./state.js";
import { crewMinutes, firstWith, firstWithout, keepClear, keepCrewed, lastWithout } from "./sweeps.js";

/** A segment of starts that lie as far after the end before as the hold's least; others share one end. */
const SLIDES = 1;
const FIXED = 0;

/**
 * Forward passes over the operations up to the anchor: which starts of each operation can be reached, as stretches of minutes.
 * For each, the latest end of the operation before it is the one to come from: holds only get easier when they begin later, so
 * no choice made early can lead to a dead end.
 */
export class ForwardPasses {
  /** Slot k: ends of operation k-1 (slot 0: the mix) that can be reached. */
  readonly ends: MinuteSet[] = [];
  /** Slot k: starts of operation k that can be reached. */
  readonly starts: MinuteSet[] = [];
  /** Of the last `traceStart`: start and alternative. */
  tracedStart = -1;
  tracedAlternative = -1;
  /** Slot k: by start of operation k, the end before it. */
  private readonly overHold: Segments[] = [];
  /** Slot k: by start of operation k, on which alternative and for how long. */
  private readonly onRow: Segments[] = [];
  private readonly state: State;
  private scratch: MinuteSet;
  private readonly warm: MinuteSet;

  constructor(state: State) {
    const { horizon } = state;
    this.state = state;
    this.scratch = new MinuteSet(horizon);
    this.warm = new MinuteSet(horizon);
    for (let k = 0; k <= MAX_OPERATIONS; k++) {
      this.ends.push(new MinuteSet(horizon));
      this.starts.push(new MinuteSet(horizon));
      this.overHold.push(new Segments());
      this.onRow.push(new Segments());
    }
  }

  /** Which starts of operation k in [low, high] can be reached? False: none. */
  reach(k: number, operation: Operation, hold: Hold, low: number, high: number): boolean {
    const { horizon, free } = this.state;
    const starts = this.starts[k]!;
    starts.clear();
    this.overHold[k]!.clear();
    const until = Math.min(high, horizon);
    if (low > until) return false;
    if (hold.ride !== null) this.reachOverRide(k, hold, low, until);
    else if (hold.rows.length === 0) this.reachOnRow(k, hold, -1, low, until);
    else for (let i = 0; i < hold.rows.length; i++) this.reachOnRow(k, hold, i, low, until);
    if (operation.crew === null || starts.count === 0) return starts.count > 0;
    const kept = this.scratch;
    kept.clear();
    keepCrewed(starts, free, horizon, operation.crew, crewMinutes(operation), kept);
    this.starts[k] = kept;
    this.scratch = starts;
    return kept.count > 0;
  }

  /** Puts operation k on each of its alternatives wherever it can start: the ends for the next pass. False: nowhere. */
  end(k: number, operation: Operation): boolean {
    const { horizon, free } = this.state;
    const starts = this.starts[k]!;
    const ends = this.ends[k + 1]!;
    const onRow = this.onRow[k]!;
    const { alternatives } = operation;
    ends.clear();
    onRow.clear();
    for (let a = 0; a < alternatives.length; a++) {
      const { row, amount, minutes } = alternatives[a]!;
      let kept = starts;
      if (row >= 0 && minutes > 0) {
        kept = this.scratch;
        kept.clear();
        keepClear(starts, free, horizon, row, amount, minutes, kept);
      }
      for (let n = 0; n < kept.count; n++) {
        const from = kept.from[n]!;
        const to = Math.min(kept.to[n]!, horizon - minutes);
        onRow.push(from, to, a, minutes);
        ends.add(from + minutes, to + minutes);
      }
    }
    return ends.count > 0;
  }

  /** The latest end of the operation before k from which its start `t`, which is reached, can be reached. */
  before(k: number, t: number): number {
    const segments = this.overHold[k]!;
    let latest = -1;
    for (let n = 0; n < segments.count; n++) {
      if (!segments.has(n, t)) continue;
      const end = segments.index(n) === SLIDES ? t - segments.value(n) : segments.value(n);
      if (end > latest) latest = end;
    }
    return latest;
  }

  /** Finds a start and an alternative of operation k with which it ends at `end`, which is reached. */
  traceStart(k: number, end: number): number {
    const segments = this.onRow[k]!;
    for (let n = segments.count - 1; n >= 0; n--) {
      const start = end - segments.value(n);
      if (!segments.has(n, start)) continue;
      this.tracedStart = start;
      this.tracedAlternative = segments.index(n);
      return start;
    }
    throw new RangeError(`operation ${k} does not end at ${end}`);
  }

  private add(k: number, from: number, to: number, kind: number, value: number, low: number, high: number): void {
    const first = Math.max(from, low);
    const last = Math.min(to, high);
    this.overHold[k]!.push(first, last, kind, value);
    this.starts[k]!.add(first, last);
  }

  /** Adds what is reached with room on one row of the hold, or with none (-1: it needs no room). A plentiful row always has it. */
  private reachOnRow(k: number, hold: Hold, index: number, low: number, high: number): void {
    const { horizon, free, plentiful } = this.state;
    const { least, greatest, amount } = hold;
    const ends = this.withHeat(hold, index, this.ends[k]!);
    const base = index < 0 || plentiful[hold.rows[index]!] === 1 ? -1 : hold.rows[index]! * horizon;
    for (let n = 0; n < ends.count; n++) {
      let from = Math.max(ends.from[n]!, low - greatest);
      const to = Math.min(ends.to[n]!, high - least);
      if (from > to) continue;
      const limit = Math.min(high, to + greatest);
      if (base < 0 || least === 0) {
        this.add(k, from + least, to + least, SLIDES, least, low, high);
        const until = base < 0 ? limit : firstWithout(free, base, amount, to, limit);
        this.add(k, to + least + 1, until, FIXED, to, low, high);
        continue;
      }
      while (from <= to) {
        const bad = firstWithout(free, base, amount, from, limit);
        this.add(k, from + least, Math.min(to + least, bad), SLIDES, least, low, high);
        if (bad > to) {
          this.add(k, to + least + 1, bad, FIXED, to, low, high);
          break;
        }
        from = firstWith(free, base, amount, bad + 1, to + 1);
      }
    }
  }

  /** The hold leaves its first place at one fixed minute and takes its second at another. */
  private reachOverRide(k: number, hold: Hold, low: number, high: number): void {
    const { horizon, free } = this.state;
    const { least, greatest, amount, rows } = hold;
    const { leave, arrive, rows: rowsAfter } = hold.ride!;
    let roomUntil = rowsAfter.length === 0 ? high : -1;
    for (let i = 0; i < rowsAfter.length; i++) {
      const bad = firstWithout(free, rowsAfter[i]! * horizon, amount, arrive, Math.max(arrive, high));
      if (bad > roomUntil) roomUntil = bad;
    }
    const first = Math.max(low, arrive);
    const last = Math.min(high, roomUntil);
    if (first > last) return;
    for (let i = 0; i < rows.length; i++) {
      const ends = this.withHeat(hold, i, this.ends[k]!);
      if (ends.count === 0) continue;
      const clearFrom = lastWithout(free, rows[i]! * horizon, amount, Math.min(ends.first, leave), leave) + 1;
      for (let n = 0; n < ends.count; n++) {
        const from = Math.max(ends.from[n]!, clearFrom, first - greatest);
        const to = Math.min(ends.to[n]!, leave, last - least);
        if (from > to) continue;
        this.add(k, from + least, to + least, SLIDES, least, first, last);
        this.add(k, to + least + 1, to + greatest, FIXED, to, first, last);
      }
    }
  }

  /** Those of the ends from which the heat of the hold finds room; all when the row asks for none. */
  private withHeat(hold: Hold, index: number, ends: MinuteSet): MinuteSet {
    const row = index >= 0 && hold.heatRows.length > 0 ? hold.heatRows[index]! : -1;
    if (row < 0) return ends;
    const { horizon, free } = this.state;
    const { warm } = this;
    warm.clear();
    keepClear(ends, free, horizon, row, hold.heatAmount, hold.heatMinutes, warm);
    // What is warmer at the end of the horizon than there is time to cool counts to the end.
    const clearFrom = lastWithout(
      free,
      row * horizon,
      hold.heatAmount,
      Math.max(0, horizon - hold.heatMinutes),
      horizon,
    );
    for (let n = 0; n < ends.count; n++) {
      warm.add(Math.max(ends.from[n]!, clearFrom + 1, horizon - hold.heatMinutes + 1), ends.to[n]!);
    }
    return warm;
  }
}
