import { AnchorScan } from "./anchor-scan.js";
import { allBounds, type ChainBounds } from "./bounds.js";
import { putChain } from "./chain.js";
import { FinishPasses } from "./finish-passes.js";
import { type Hold, MAX_OPERATIONS, type Mode, type Operation } from "./model.js";
import { Scanner } from "./scanner.js";
import type { State } from "./state.js";

/** Anchor starts are looked at in stretches of so many minutes outside the zone that costs nothing. */
const STRETCH = 90;

/**
 * Where one load goes best, all others given: exact over every minute of its whole chain.
 *
 * Forward passes carry, for each start of each operation, the latest end of the operation before it from which that start can be
 * reached. Holds only get easier when they begin later, so the latest is always good enough, and no choice made early
 * can lead to a dead end. After the anchor (the bake) the passes run backwards with the earliest start instead.
 */
export class Inserter {
  /** Alternatives of the anchor that the next `find` passes over (bits), and a start at which it may not be; then cleared. */
  passedOver = 0;
  barredStart = -1;
  /** Lowest cost found by the last `find`: early, late, heater and trip cost of the load. */
  cost = 0;
  foundMode = -1;
  private readonly state: State;
  private readonly bounds: ChainBounds[][];
  /** Slot k: reached ends of operation k-1 (slot 0: the mix): start of that operation by its end, -1 if not reached. */
  private readonly startByEnd: Int32Array[] = [];
  private readonly alternativeByEnd: Int8Array[] = [];
  private readonly endFrom = new Int32Array(MAX_OPERATIONS + 1);
  private readonly endTo = new Int32Array(MAX_OPERATIONS + 1);
  /** Per operation up to the anchor: by its start, the end of the operation before it. */
  private readonly endBefore: Int32Array[] = [];
  private readonly scanner: Scanner;
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

  constructor(state: State, bounds: ChainBounds[][] = allBounds(state.model)) {
    const size = state.horizon + 2;
    this.state = state;
    this.bounds = bounds;
    for (let k = 0; k <= MAX_OPERATIONS; k++) {
      this.startByEnd.push(new Int32Array(size).fill(-1));
      this.alternativeByEnd.push(new Int8Array(size));
      this.endBefore.push(new Int32Array(size).fill(-1));
    }
    this.scanner = new Scanner(state);
    this.finishes = new FinishPasses(state, this.scanner);
    this.anchors = new AnchorScan(state, this.finishes);
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
    this.mixFrom = mixEnd;
    this.mixTo = mixEnd;
    this.startByEnd[0]![mixEnd] = mixEnd;
    const found = this.findInModes(load, below, modes, site);
    this.startByEnd[0]![mixEnd] = -1;
    return found;
  }

  /** The same for a load whose batch is not mixed yet: the mix may start at any of the `count` ascending `starts`. */
  findWithMix(
    load: number,
    below: number,
    modes: number,
    site: number,
    minutes: number,
    starts: Int32Array,
    count: number,
  ): boolean {
    if (count === 0) return false;
    const slot = this.startByEnd[0]!;
    this.mixFrom = starts[0]! + minutes;
    this.mixTo = starts[count - 1]! + minutes;
    for (let i = 0; i < count; i++) slot[starts[i]! + minutes] = starts[i]!;
    const found = this.findInModes(load, below, modes, site);
    slot.fill(-1, this.mixFrom, this.mixTo + 1);
    return found;
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
    this.passedOver = 0;
    this.barredStart = -1;
    return this.foundMode >= 0;
  }

  private findInMode(load: number, index: number, mode: Mode): void {
    const { state } = this;
    const data = state.model.loads[load]!;
    const bound = this.bounds[load]![index]!;
    this.mode = mode;
    this.bound = bound;
    let fixed = 0;
    if (mode.trip >= 0) {
      const trip = state.model.trips[mode.trip]!;
      if (state.free[trip.row * state.horizon]! < mode.tripAmount) return;
      if (state.tripLoads[mode.trip] === 0) fixed += trip.cost;
    }
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
    if (zoneFrom <= zoneTo) this.findInStretch(index, zoneFrom, zoneTo, fixed, data.earlyCost, late);
    for (let to = zoneFrom - 1; to >= first; to -= STRETCH) {
      const from = Math.max(first, to - STRETCH + 1);
      if (fixed + data.earlyCost[Math.min(state.horizon, to + bound.greatestAfter)]! >= this.cost) break;
      this.findInStretch(index, from, to, fixed, data.earlyCost, late);
    }
    for (let from = zoneTo + 1; from <= last; from += STRETCH) {
      const to = Math.min(last, from + STRETCH - 1);
      if (fixed + (late ? late[from + bound.leastAfter]! : 0) >= this.cost) break;
      this.findInStretch(index, from, to, fixed, data.earlyCost, late);
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
    early: Int32Array,
    late: Int32Array | null,
  ): void {
    const { mode, bound } = this;
    this.endFrom[0] = this.mixFrom;
    this.endTo[0] = this.mixTo;
    for (let k = 0; k <= mode.anchor; k++) {
      const operation = mode.operations[k]!;
      let low = Math.max(from - bound.greatestToAnchor[k]!, this.mixFrom + bound.leastFromMix[k]!, operation.from);
      let high = Math.min(to - bound.leastToAnchor[k]!, this.mixTo + bound.greatestFromMix[k]!, operation.to);
      for (const span of mode.spans) {
        if (this.mixFrom === this.mixTo && span.fromOperation < 0 && span.toOperation === k)
          high = Math.min(high, this.firstBad(span, high));
        if (span.toOperation < 0 && span.fromOperation === k) low = Math.max(low, this.lastBad(span, low) + 1);
      }
      if (low > high || !this.reach(k, operation, mode.holds[k]!, low, high)) {
        return;
      }
    }
    const low = this.endFrom[mode.anchor + 1]!;
    const high = this.endTo[mode.anchor + 1]!;
    const anchor = mode.operations[mode.anchor]!;
    let shortest = anchor.alternatives[0]!.minutes;
    let longest = shortest;
    for (const alternative of anchor.alternatives) {
      if (alternative.minutes < shortest) shortest = alternative.minutes;
      if (alternative.minutes > longest) longest = alternative.minutes;
    }
    const endHigh = Math.min(high + longest, this.state.horizon);
    this.finishes.run(mode, low + shortest, endHigh);
    this.checkChains(low, high);
    this.anchors.best = this.cost;
    this.anchors.start = -1;
    this.anchors.barredStart = this.barredStart;
    const costs = { fixed, early, late };
    for (let a = 0; a < anchor.alternatives.length; a++) {
      if (a < 31 && (this.passedOver & (1 << a)) !== 0) continue;
      this.anchors.tryAlternative(mode, a, low, high, costs);
    }
    if (this.anchors.start < 0) return;
    this.cost = this.anchors.best;
    this.foundMode = modeIndex;
    this.trace();
  }

  private firstBad(span: { row: number; amount: number }, limit: number): number {
    const base = span.row * this.state.horizon;
    const { free } = this.state;
    for (let t = this.mixFrom; t < limit; t++) if (free[base + t]! < span.amount) return t;
    return limit;
  }

  private lastBad(span: { row: number; amount: number }, limit: number): number {
    const base = span.row * this.state.horizon;
    const { free } = this.state;
    for (let t = this.state.horizon - 1; t >= limit; t--) if (free[base + t]! < span.amount) return t;
    return limit - 1;
  }

  /** One forward pass: which starts in [low, high] can be reached, and from which end before. */
  private reach(k: number, operation: Operation, hold: Hold, low: number, high: number): boolean {
    const { horizon } = this.state;
    const isAnchor = k === this.mode.anchor;
    const previous = this.startByEnd[k]!;
    const previousTo = this.endTo[k]!;
    const before = this.endBefore[k]!;
    const own = this.startByEnd[k + 1]!;
    const ownAlternative = this.alternativeByEnd[k + 1]!;
    const { least, greatest, rows, amount, ride } = hold;
    const firstEnd = Math.max(this.endFrom[k]!, low - greatest);
    const crew = operation.crew;
    const crewCount = crew ? crew.rows.length : 0;
    const alternatives = operation.alternatives;
    const alternativeCount = isAnchor ? 0 : alternatives.length;
    this.scanner.startOperation(low, alternatives.length, crewCount);
    let shortest = 1 << 29;
    let longest = 0;
    for (let i = 0; i < alternatives.length; i++) {
      const minutes = alternatives[i]!.minutes;
      if (minutes < shortest) shortest = minutes;
      if (minutes > longest) longest = minutes;
    }
    if (!isAnchor) own.fill(-1, low + shortest, Math.min(horizon, high + longest) + 1);
    this.scanner.startHold(hold, firstEnd);
    let reachedFrom = 1 << 29;
    let reachedTo = -1;
    let next = firstEnd;
    let latest = -1;
    for (let t = low; t <= high; t++) {
      before[t] = -1;
      let limit = t - least;
      if (ride !== null && limit > ride.leave) limit = ride.leave;
      if (limit > previousTo) limit = previousTo;
      while (next <= limit) {
        if (previous[next]! >= 0) latest = next;
        next++;
      }
      if (latest < 0 || t - latest > greatest) continue;
      if (ride !== null && t < ride.arrive) continue;
      if (rows.length > 0 && !this.scanner.holdFits(hold, amount, latest, t)) continue;
      if (crewCount > 0 && !this.scanner.crewFits(operation, t, shortest)) continue;
      if (isAnchor) {
        before[t] = latest;
        if (t < reachedFrom) reachedFrom = t;
        reachedTo = t;
        continue;
      }
      for (let i = 0; i < alternativeCount; i++) {
        const alternative = alternatives[i]!;
        const end = t + alternative.minutes;
        if (end > horizon) continue;
        if (!this.scanner.alternativeFits(alternative.row, alternative.amount, i, t, end)) continue;
        before[t] = latest;
        own[end] = t;
        ownAlternative[end] = i;
        if (end < reachedFrom) reachedFrom = end;
        if (end > reachedTo) reachedTo = end;
      }
    }
    this.endFrom[k + 1] = reachedFrom;
    this.endTo[k + 1] = reachedTo;
    return reachedTo >= 0;
  }

  /** Marks the anchor starts whose chain keeps the warm limit, and prepares the stock that spans the anchor. */
  private checkChains(low: number, high: number): void {
    const { mode } = this;
    const { allowed, spanStart, spanClear } = this.anchors;
    const span = mode.spans.find((s) => s.fromOperation >= 0 && s.toOperation > mode.anchor);
    const { horizon, free } = this.state;
    let earliest = 1 << 29;
    for (let t = low; t <= high; t++) {
      let end = this.endBefore[mode.anchor]![t]!;
      allowed[t] = end >= 0 ? 1 : 0;
      if (end < 0) continue;
      let k = mode.anchor - 1;
      for (; k >= 0; k--) {
        const start = this.startByEnd[k + 1]![end]!;
        if (k === mode.warmFrom && t - start > mode.warmMinutes) allowed[t] = 0;
        if (span && k === span.fromOperation) {
          spanStart[t] = start;
          if (start < earliest) earliest = start;
        }
        end = this.endBefore[k]![start]!;
      }
      if (mode.warmFrom < 0 && t - end > mode.warmMinutes) allowed[t] = 0;
      if (this.mixFrom !== this.mixTo && allowed[t] === 1 && !this.mixSpansFit(t, end)) allowed[t] = 0;
    }
    if (!span || earliest > horizon) return;
    const base = span.row * horizon;
    let clear = earliest;
    const until = Math.min(horizon, high + this.bound.greatestAfter);
    for (let t = earliest; t <= until; t++) {
      spanClear[t] = clear;
      if (t < horizon && free[base + t]! < span.amount) clear = t + 1;
    }
  }

  /** Stocks held from a mix that is placed with the load, for the chain that reaches the anchor at `t`. */
  private mixSpansFit(t: number, mixEnd: number): boolean {
    const { mode, state } = this;
    for (const span of mode.spans) {
      if (span.fromOperation >= 0) continue;
      let to = span.toOperation < 0 ? state.horizon : t;
      for (let k = mode.anchor - 1; k >= Math.max(0, span.toOperation); k--)
        to = this.startByEnd[k + 1]![this.endBefore[k + 1]![to]!]!;
      if (!state.fits(span.row, mixEnd, to, span.amount)) return false;
    }
    return true;
  }

  /** Writes down the chain of the best anchor start, while the passes still hold it. */
  private trace(): void {
    const { mode } = this;
    this.foundStart[mode.anchor] = this.anchors.start;
    this.foundAlternative[mode.anchor] = this.anchors.alternative;
    let end = this.endBefore[mode.anchor]![this.anchors.start]!;
    for (let k = mode.anchor - 1; k >= 0; k--) {
      const start = this.startByEnd[k + 1]![end]!;
      this.foundStart[k] = start;
      this.foundAlternative[k] = this.alternativeByEnd[k + 1]![end]!;
      end = this.endBefore[k]![start]!;
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
    putChain(state, load, this.foundMode, this.foundFinish, this.foundMixEnd);
  }
}
