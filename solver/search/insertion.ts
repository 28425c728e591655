import { AnchorChoice, AnchorScan } from "./anchor-scan.js";
import { BoundsBook, type ChainBounds } from "./bounds.js";
import { putChain } from "./chain.js";
import { FinishPasses } from "./finish-passes.js";
import { ForwardPasses } from "./forward-passes.js";
import { MinuteSet } from "./minute-set.js";
import { type Load, MAX_OPERATIONS, type Mode, type Span } from "./model.js";
import type { State } from "./state.js";
import { firstWithout, lastWithout } from "./sweeps.js";

/** Anchor starts are looked at in stretches of so many minutes outside the zone that costs nothing. */
const STRETCH = 90;

/**
 * Where one load goes best, all others given: exact over every minute of its whole chain.
 *
 * Forward passes lead up to the anchor (the bake), backward passes away from it, and the anchor's alternatives are scanned in
 * between: first where it costs nothing, then earlier, then later, cut by the best cost.
 */
export class Inserter {
  /** Which of the open places the next finds take. */
  readonly choice = new AnchorChoice();
  /** Lowest cost found by the last `find`: early, late, heater and trip cost of the load. */
  cost = 0;
  foundMode = -1;
  private readonly state: State;
  private readonly bounds: BoundsBook;
  private readonly passes: ForwardPasses;
  private readonly finishes: FinishPasses;
  private readonly anchors: AnchorScan;
  /** The chain found: start and alternative of each operation. */
  private readonly foundStart = new Int32Array(MAX_OPERATIONS);
  private readonly foundAlternative = new Int8Array(MAX_OPERATIONS);
  private foundFinish = -1;
  private mode!: Mode;
  private bound!: ChainBounds;
  /** When the mix may end: one minute when it is placed, a range when it is placed with the load. */
  private mixFrom = 0;
  private mixTo = 0;
  private foundMixEnd = -1;
  private readonly checked: MinuteSet;

  constructor(state: State, bounds: BoundsBook = new BoundsBook(state.model)) {
    this.state = state;
    this.bounds = bounds;
    this.checked = new MinuteSet(state.horizon);
    this.passes = new ForwardPasses(state);
    this.finishes = new FinishPasses(state);
    this.anchors = new AnchorScan(state, this.finishes, this.choice);
  }

  /** When the place found last delivers the load. */
  delivered(load: number): number {
    const { deliveredAt } = this.state.model.loads[load]!.modes[this.foundMode]!;
    return deliveredAt >= 0 ? deliveredAt : this.foundFinish;
  }

  /** Looks for a place that costs less than `below`, in the modes whose bit is set in `modes` (-1: all). */
  find(load: number, below: number, modes = -1): boolean {
    const { batch } = this.state.model.loads[load]!;
    const { site } = this.state.model.batches[batch]!.options[this.state.mixOption[batch]!]!;
    const mixEnd = this.state.mixEnd(batch);
    this.passes.ends[0]!.clear();
    this.passes.ends[0]!.add(mixEnd, mixEnd);
    this.mixFrom = mixEnd;
    this.mixTo = mixEnd;
    return this.findInModes(load, below, modes, site);
  }

  /** The same for a load whose batch is not mixed yet: the mix may start at any of `starts`. */
  findWithMix(load: number, below: number, modes: number, site: number, minutes: number, starts: MinuteSet): boolean {
    if (starts.count === 0) return false;
    const ends = this.passes.ends[0]!;
    ends.clear();
    for (let n = 0; n < starts.count; n++) ends.add(starts.from[n]! + minutes, starts.to[n]! + minutes);
    this.mixFrom = ends.first;
    this.mixTo = ends.last;
    return this.findInModes(load, below, modes, site);
  }

  /** When the anchor of the place found last starts. */
  anchorStart(anchor: number): number {
    return this.foundStart[anchor]!;
  }

  /** When the mix of the place found last ends. */
  get mixEnd(): number {
    return this.foundMixEnd;
  }

  private findInModes(load: number, below: number, modes: number, site: number): boolean {
    const data = this.state.model.loads[load]!;
    this.cost = below;
    this.foundMode = -1;
    for (let m = 0; m < data.modes.length; m++) {
      const mode = data.modes[m]!;
      if (mode.site !== site || (m < 31 && (modes & (1 << m)) === 0)) continue;
      this.findInMode(load, m, mode);
    }
    this.choice.passedOver = 0;
    this.choice.barredStart = -1;
    return this.foundMode >= 0;
  }

  private findInMode(load: number, index: number, mode: Mode): void {
    const { state } = this;
    const data = state.model.loads[load]!;
    const bound = this.bounds.of(load)[index]!;
    this.mode = mode;
    this.bound = bound;
    let fixed = 0;
    if (mode.trip >= 0) {
      const trip = state.model.trips[mode.trip]!;
      if (state.free[trip.row * state.horizon]! < mode.tripAmount) return;
      if (state.tripLoads[mode.trip] === 0) fixed += trip.cost;
    }
    if (data.home && data.home.mode !== index) fixed += data.home.otherModeCost;
    if (mode.deliveredAt >= 0) fixed += data.lateCost[mode.deliveredAt]!;
    if (fixed >= this.cost || !this.spansFromMixFit()) return;
    const anchor = mode.operations[mode.anchor]!;
    const first = Math.max(this.mixFrom + bound.leastFromMix[mode.anchor]!, anchor.from);
    const last = Math.min(
      this.mixTo + bound.greatestFromMix[mode.anchor]!,
      anchor.to,
      Math.min(mode.finishBy, state.horizon) - bound.leastAfter,
    );
    if (first > last) return;
    const late = mode.deliveredAt >= 0 ? null : data.lateCost;
    const zoneFrom = Math.min(Math.max(first, bound.zoneFrom - bound.leastAfter), last + 1);
    const zoneTo = Math.max(Math.min(last, bound.zoneTo - bound.leastAfter), zoneFrom - 1);
    if (zoneFrom <= zoneTo) this.findInStretch(index, zoneFrom, zoneTo, fixed, data, late);
    for (let to = zoneFrom - 1; to >= first; to -= STRETCH) {
      const from = Math.max(first, to - STRETCH + 1);
      if (fixed + data.earlyCost[Math.min(state.horizon, to + bound.greatestAfter)]! >= this.cost) break;
      this.findInStretch(index, from, to, fixed, data, late);
    }
    for (let from = zoneTo + 1; from <= last; from += STRETCH) {
      const to = Math.min(last, from + STRETCH - 1);
      if (fixed + (late ? late[from + bound.leastAfter]! : 0) >= this.cost) break;
      this.findInStretch(index, from, to, fixed, data, late);
    }
  }

  /** Stocks held from a placed mix on: is there any minute left for the operation that ends them? */
  private spansFromMixFit(): boolean {
    if (this.mixFrom !== this.mixTo) return true;
    for (const span of this.mode.spans) {
      if (span.fromOperation >= 0) continue;
      const until =
        span.toOperation < 0 ? this.state.horizon : this.mixFrom + this.bound.leastFromMix[span.toOperation]!;
      if (until > this.state.horizon || !this.state.fits(span.row, this.mixFrom, until, span.amount)) return false;
    }
    return true;
  }

  private findInStretch(
    modeIndex: number,
    from: number,
    to: number,
    fixed: number,
    { earlyCost: early, home }: Load,
    late: Int32Array | null,
  ): void {
    const { mode, bound, passes } = this;
    for (let k = 0; k <= mode.anchor; k++) {
      const operation = mode.operations[k]!;
      let low = Math.max(from - bound.greatestToAnchor[k]!, this.mixFrom + bound.leastFromMix[k]!, operation.from);
      let high = Math.min(to - bound.leastToAnchor[k]!, this.mixTo + bound.greatestFromMix[k]!, operation.to);
      for (const span of mode.spans) {
        if (this.mixFrom === this.mixTo && span.fromOperation < 0 && span.toOperation === k)
          high = Math.min(high, this.firstBad(span, high));
        if (span.toOperation < 0 && span.fromOperation === k) low = Math.max(low, this.lastBad(span, low) + 1);
      }
      if (!passes.reach(k, operation, mode.holds[k]!, low, high)) return;
      if (k < mode.anchor && !passes.end(k, operation)) return;
    }
    const low = passes.starts[mode.anchor]!.first;
    const high = passes.starts[mode.anchor]!.last;
    if (mode.operations.length > mode.anchor + 1) {
      const endHigh = Math.min(high + bound.longestAnchor, this.state.horizon);
      this.finishes.run(mode, low + bound.shortestAnchor, endHigh);
    }
    let starts = passes.starts[mode.anchor]!;
    const span = this.scarceSpan(low, high);
    const looksAtMixes = this.mixFrom !== this.mixTo && this.isScarceFromMix(high);
    if (bound.checksWarm || span !== null || looksAtMixes)
      starts = this.checkedStarts(starts, high, span, looksAtMixes);
    this.anchors.run(mode, starts, { fixed, early, late, home }, this.cost, span);
    if (this.anchors.start < 0) return;
    this.cost = this.anchors.best;
    this.foundMode = modeIndex;
    this.trace();
  }

  private firstBad(span: { row: number; amount: number }, limit: number): number {
    const { free, horizon, plentiful } = this.state;
    if (plentiful[span.row] === 1) return limit;
    return Math.min(limit, firstWithout(free, span.row * horizon, span.amount, this.mixFrom, limit));
  }

  private lastBad(span: { row: number; amount: number }, limit: number): number {
    const { free, horizon, plentiful } = this.state;
    if (plentiful[span.row] === 1) return limit - 1;
    return lastWithout(free, span.row * horizon, span.amount, limit, horizon);
  }

  /** The stock over the anchor, unless there is enough of it all the time for whatever chain has its anchor start in [low, high]. */
  private scarceSpan(low: number, high: number): Span | null {
    const { bound, state } = this;
    const { span } = bound;
    if (span === null) return null;
    const from = Math.max(0, low - bound.greatestToAnchor[span.fromOperation]!);
    const to = Math.min(state.horizon, high + bound.greatestAfter);
    return state.fits(span.row, from, to, span.amount) ? null : span;
  }

  /** Could a stock be short that is held from a mix which is placed with the load, whose anchor starts by `high`? */
  private isScarceFromMix(high: number): boolean {
    const { bound, mode, state } = this;
    for (const span of mode.spans) {
      if (span.fromOperation >= 0) continue;
      const to = span.toOperation < 0 ? state.horizon : Math.min(state.horizon, high + bound.greatestAfter);
      if (!state.fits(span.row, this.mixFrom, to, span.amount)) return true;
    }
    return false;
  }

  /** Those anchor starts whose chain keeps the warm limit and finds its stocks; prepares the stock that spans the anchor. */
  private checkedStarts(starts: MinuteSet, high: number, span: Span | null, looksAtMixes: boolean): MinuteSet {
    const { mode, passes, checked } = this;
    const { spanStart, spanClear } = this.anchors;
    const { horizon, free } = this.state;
    checked.clear();
    let earliest = 1 << 29;
    for (let n = 0; n < starts.count; n++) {
      for (let t = starts.from[n]!; t <= starts.to[n]!; t++) {
        let isAllowed = true;
        let end = passes.before(mode.anchor, t);
        for (let k = mode.anchor - 1; k >= 0; k--) {
          const start = passes.traceStart(k, end);
          if (k === mode.warmFrom && t - start > mode.warmMinutes) isAllowed = false;
          if (span && k === span.fromOperation) {
            spanStart[t] = start;
            if (start < earliest) earliest = start;
          }
          end = passes.before(k, start);
        }
        if (mode.warmFrom < 0 && t - end > mode.warmMinutes) isAllowed = false;
        if (isAllowed && looksAtMixes) isAllowed = this.mixSpansFit(t, end);
        if (isAllowed) checked.add(t, t);
      }
    }
    if (!span || earliest > horizon) return checked;
    const base = span.row * horizon;
    let clear = earliest;
    const until = Math.min(horizon, high + this.bound.greatestAfter);
    for (let t = earliest; t <= until; t++) {
      spanClear[t] = clear;
      if (t < horizon && free[base + t]! < span.amount) clear = t + 1;
    }
    return checked;
  }

  /** Stocks held from a mix that is placed with the load, for the chain that reaches the anchor at `t`. */
  private mixSpansFit(t: number, mixEnd: number): boolean {
    const { mode, state } = this;
    for (const span of mode.spans) {
      if (span.fromOperation >= 0) continue;
      let to = t;
      for (let k = mode.anchor - 1; k >= span.toOperation && span.toOperation >= 0; k--)
        to = this.passes.traceStart(k, this.passes.before(k + 1, to));
      if (span.toOperation < 0) to = state.horizon;
      if (!state.fits(span.row, mixEnd, to, span.amount)) return false;
    }
    return true;
  }

  /** Writes down the chain of the best anchor start, while the passes still hold it. */
  private trace(): void {
    const { mode } = this;
    this.foundStart[mode.anchor] = this.anchors.start;
    this.foundAlternative[mode.anchor] = this.anchors.alternative;
    const { passes } = this;
    let end = passes.before(mode.anchor, this.anchors.start);
    for (let k = mode.anchor - 1; k >= 0; k--) {
      const start = passes.traceStart(k, end);
      this.foundStart[k] = start;
      this.foundAlternative[k] = passes.tracedAlternative;
      end = passes.before(k, start);
    }
    this.foundMixEnd = end;
    end = this.anchors.start + mode.operations[mode.anchor]!.alternatives[this.anchors.alternative]!.minutes;
    for (let k = mode.anchor + 1; k < mode.operations.length; k++) {
      const start = this.finishes.startAfter[k]![end]!;
      const operation = mode.operations[k]!;
      this.foundStart[k] = start;
      end = start + operation.alternatives[0]!.minutes;
      this.foundAlternative[k] = operation.alternatives.findIndex(
        (alternative) => alternative.row < 0 || this.state.fits(alternative.row, start, end, alternative.amount),
      );
    }
    this.foundFinish = end;
  }

  /** Puts the load where the last successful `find` found it best. */
  commit(load: number): void {
    const at = load * MAX_OPERATIONS;
    const { state } = this;
    const operations = state.model.loads[load]!.modes[this.foundMode]!.operations;
    for (let k = 0; k < operations.length; k++) {
      state.start[at + k] = this.foundStart[k]!;
      state.alternative[at + k] = this.foundAlternative[k]!;
    }
    putChain(state, load, this.foundMode, this.foundFinish, this.foundMixEnd, true);
  }
}
