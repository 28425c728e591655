import { allBounds, type ChainBounds } from "./bounds.js";
import { putChain } from "./chain.js";
import { type Hold, MAX_OPERATIONS, type Mode, type Operation } from "./model.js";
import type { State } from "./state.js";

/** Anchor starts are looked at in stretches of so many minutes outside the zone that costs nothing. */
const STRETCH = 90;
const MANY = 64;

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
  /** Per operation after the anchor: by the end of the operation before it, its start, and the end of the chain. */
  private readonly startAfter: Int32Array[] = [];
  private readonly finishAfter: Int32Array[] = [];
  private readonly finishIfStarted: Int32Array;
  private readonly afterFrom = new Int32Array(MAX_OPERATIONS + 1);
  private readonly afterTo = new Int32Array(MAX_OPERATIONS + 1);
  private readonly allowed: Uint8Array;
  private readonly spanStart: Int32Array;
  private readonly spanClear: Int32Array;
  /** Scanning positions: holds, after-ride holds, crew rows, alternatives. */
  private readonly holdNext = new Int32Array(MANY);
  private readonly holdBad = new Int32Array(MANY);
  private readonly rideClear = new Int32Array(MANY);
  private readonly heatNext = new Int32Array(MANY);
  private readonly heatBad = new Int32Array(MANY);
  private readonly crewNext = new Int32Array(MANY);
  private readonly crewBad = new Int32Array(MANY);
  private readonly rowNext = new Int32Array(MANY);
  private readonly rowBad = new Int32Array(MANY);
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
  private stretchBest = 0;
  private stretchStart = -1;
  private stretchAlternative = -1;

  constructor(state: State, bounds: ChainBounds[][] = allBounds(state.model)) {
    const size = state.horizon + 2;
    this.state = state;
    this.bounds = bounds;
    for (let k = 0; k <= MAX_OPERATIONS; k++) {
      this.startByEnd.push(new Int32Array(size).fill(-1));
      this.alternativeByEnd.push(new Int8Array(size));
      this.endBefore.push(new Int32Array(size).fill(-1));
      this.startAfter.push(new Int32Array(size).fill(-1));
      this.finishAfter.push(new Int32Array(size).fill(-1));
    }
    this.finishIfStarted = new Int32Array(size);
    this.allowed = new Uint8Array(size);
    this.spanStart = new Int32Array(size);
    this.spanClear = new Int32Array(size);
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
    this.finishAll(low + shortest, endHigh);
    this.checkChains(low, high);
    this.stretchBest = this.cost;
    this.stretchStart = -1;
    for (let a = 0; a < anchor.alternatives.length; a++) {
      if (a < 31 && (this.passedOver & (1 << a)) !== 0) continue;
      this.tryAnchor(a, low, high, fixed, early, late);
    }
    if (this.stretchStart < 0) return;
    this.cost = this.stretchBest;
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
    const { horizon, free } = this.state;
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
    for (let i = 0; i < crewCount; i++) {
      this.crewNext[i] = low;
      this.crewBad[i] = -1;
    }
    let shortest = 1 << 29;
    let longest = 0;
    for (let i = 0; i < alternatives.length; i++) {
      const minutes = alternatives[i]!.minutes;
      if (minutes < shortest) shortest = minutes;
      if (minutes > longest) longest = minutes;
      this.rowNext[i] = low;
      this.rowBad[i] = -1;
    }
    if (!isAnchor) own.fill(-1, low + shortest, Math.min(horizon, high + longest) + 1);
    this.startHold(hold, firstEnd);
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
      if (rows.length > 0 && !this.holdFits(hold, amount, latest, t)) continue;
      if (crewCount > 0 && !this.crewFits(operation, t, shortest)) continue;
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
        if (alternative.row >= 0) {
          const base = alternative.row * horizon;
          let scan = this.rowNext[i]!;
          let bad = this.rowBad[i]!;
          while (scan < end) {
            if (free[base + scan]! < alternative.amount) bad = scan;
            scan++;
          }
          this.rowNext[i] = scan;
          this.rowBad[i] = bad;
          if (bad >= t) continue;
        }
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

  private startHold(hold: Hold, firstEnd: number): void {
    const { horizon, free } = this.state;
    const ride = hold.ride;
    for (let i = 0; i < hold.rows.length; i++) {
      this.heatNext[i] = firstEnd;
      this.heatBad[i] = -1;
      if (ride === null) {
        this.holdNext[i] = firstEnd;
        this.holdBad[i] = -1;
        continue;
      }
      const base = hold.rows[i]! * horizon;
      let t = ride.leave;
      while (t > firstEnd && free[base + t - 1]! >= hold.amount) t--;
      this.rideClear[i] = t;
    }
    if (ride === null) return;
    for (let i = 0; i < ride.rows.length; i++) {
      this.holdNext[i] = ride.arrive;
      this.holdBad[i] = -1;
    }
  }

  /** Is there room throughout a hold from `from` to `to`? Both only ever grow during a pass. */
  private holdFits(hold: Hold, amount: number, from: number, to: number): boolean {
    if (hold.ride === null) {
      for (let i = 0; i < hold.rows.length; i++) {
        if (this.rowClear(hold.rows[i]!, i, amount, to) < from && this.heatFits(hold, i, from)) return true;
      }
      return false;
    }
    let before = false;
    for (let i = 0; i < hold.rows.length && !before; i++) {
      before = this.rideClear[i]! <= from && this.heatFits(hold, i, from);
    }
    if (!before) return false;
    const rows = hold.ride.rows;
    for (let i = 0; i < rows.length; i++) if (this.rowClear(rows[i]!, i, amount, to) < 0) return true;
    return rows.length === 0;
  }

  /** The last minute before `to` at which the row has no room, -1 if none since the scan began. */
  private rowClear(row: number, i: number, amount: number, to: number): number {
    const { horizon, free } = this.state;
    const base = row * horizon;
    let scan = this.holdNext[i]!;
    let bad = this.holdBad[i]!;
    while (scan < to) {
      if (free[base + scan]! < amount) bad = scan;
      scan++;
    }
    this.holdNext[i] = scan;
    this.holdBad[i] = bad;
    return bad;
  }

  private heatFits(hold: Hold, i: number, from: number): boolean {
    const row = hold.heatRows.length > 0 ? hold.heatRows[i]! : -1;
    if (row < 0) return true;
    const { horizon, free } = this.state;
    const base = row * horizon;
    const end = Math.min(horizon, from + hold.heatMinutes);
    let scan = Math.max(this.heatNext[i]!, from);
    let bad = this.heatBad[i]!;
    while (scan < end) {
      if (free[base + scan]! < hold.heatAmount) bad = scan;
      scan++;
    }
    this.heatNext[i] = scan;
    this.heatBad[i] = bad;
    return bad < from;
  }

  private crewFits(operation: Operation, t: number, minutes: number): boolean {
    const crew = operation.crew!;
    const { horizon, free } = this.state;
    // Alternatives of unlike length need the longest; anchors are attended for crew.minutes.
    let length = crew.minutes;
    if (length === 0) {
      length = minutes;
      for (const alternative of operation.alternatives) if (alternative.minutes > length) length = alternative.minutes;
    }
    const end = t + length;
    if (end > horizon) return false;
    for (let i = 0; i < crew.rows.length; i++) {
      const base = crew.rows[i]! * horizon;
      let scan = this.crewNext[i]!;
      let bad = this.crewBad[i]!;
      while (scan < end) {
        if (free[base + scan]! < crew.heads) bad = scan;
        scan++;
      }
      this.crewNext[i] = scan;
      this.crewBad[i] = bad;
      if (bad < t) return true;
    }
    return false;
  }

  /** Backward passes after the anchor: for its ends in [low, high], when the chain ends at the earliest. */
  private finishAll(low: number, high: number): void {
    const { mode } = this;
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
    for (let i = 0; i < crewCount; i++) {
      this.crewNext[i] = firstStart;
      this.crewBad[i] = -1;
    }
    for (let i = 0; i < alternatives.length; i++) {
      this.rowNext[i] = firstStart;
      this.rowBad[i] = -1;
    }
    for (let s = firstStart; s <= lastStart; s++) {
      ifStarted[s] = -1;
      if (s < operation.from) continue;
      const end = s + minutes;
      const finish = isLast ? end : this.finishAfter[k + 1]![end]!;
      if (finish < 0 || finish > this.mode.finishBy) continue;
      if (crewCount > 0 && !this.crewFits(operation, s, minutes)) continue;
      for (let i = 0; i < alternatives.length; i++) {
        if (this.alternativeFits(alternatives[i]!.row, alternatives[i]!.amount, i, s, end)) {
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

  private alternativeFits(row: number, amount: number, i: number, from: number, to: number): boolean {
    if (row < 0) return true;
    const { horizon, free } = this.state;
    const base = row * horizon;
    let scan = this.rowNext[i]!;
    let bad = this.rowBad[i]!;
    while (scan < to) {
      if (free[base + scan]! < amount) bad = scan;
      scan++;
    }
    this.rowNext[i] = scan;
    this.rowBad[i] = bad;
    return bad < from;
  }

  /** Marks the anchor starts whose chain keeps the warm limit, and prepares the stock that spans the anchor. */
  private checkChains(low: number, high: number): void {
    const { mode, allowed, spanStart, spanClear } = this;
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

  /** The cheapest start on one alternative of the anchor. */
  private tryAnchor(
    index: number,
    low: number,
    high: number,
    fixed: number,
    early: Int32Array,
    late: Int32Array | null,
  ): void {
    const { state, mode, allowed } = this;
    const { horizon, free, model } = state;
    const alternative = mode.operations[mode.anchor]!.alternatives[index]!;
    const { row, amount, minutes } = alternative;
    const base = row * horizon;
    const heater = model.heaterOfRow[row]!;
    const klass = model.classOfRow[row]!;
    const hasAfter = mode.operations.length > mode.anchor + 1;
    const finishBy = this.finishAfter[mode.anchor + 1]!;
    const startAfter = this.startAfter[mode.anchor + 1]!;
    const span = mode.spans.find((s) => s.fromOperation >= 0 && s.toOperation > mode.anchor);
    let best = this.stretchBest;
    let scan = low;
    let bad = -1;
    let stretch = -1;
    let stretchEnd = -1;
    let first = 0;
    let last = 0;
    const { leadMinutes, costPerMinute, changeCost, stretches, noLead } = model.heaters[heater]!;
    const starts = state.heaters.starts[heater]!;
    const classes = state.heaters.classes[heater]!;
    let place = 0;
    for (let t = low; t <= high; t++) {
      if (allowed[t] === 0 || t === this.barredStart) continue;
      const end = t + minutes;
      if (end > horizon) break;
      while (scan < end) {
        if (free[base + scan]! < amount) bad = scan;
        scan++;
      }
      if (bad >= t) continue;
      const finish = hasAfter ? finishBy[end]! : end;
      if (finish < 0 || finish > mode.finishBy) continue;
      let cost = fixed + early[finish]!;
      if (late !== null) cost += late[finish]!;
      if (cost >= best) continue;
      if (t >= stretchEnd) {
        stretch = state.heaters.stretchAt(heater, t);
        if (stretch < 0) continue;
        stretchEnd = stretches[2 * stretch + 1]!;
        first = state.heaters.first[heater]![stretch]!;
        last = state.heaters.last[heater]![stretch]!;
      }
      if (last < 0) cost += (minutes + leadMinutes) * costPerMinute;
      else cost += ((t < first ? first - t : 0) + (end > last ? end - last : 0)) * costPerMinute;
      if (cost >= best) continue;
      if (changeCost > 0) {
        while (place < starts.length && starts[place]! <= t) place++;
        const previous = place > 0 ? classes[place - 1]! : -1;
        const next = place < starts.length ? classes[place]! : -1;
        if (previous >= 0 && previous !== klass) cost += changeCost;
        if (next >= 0 && next !== klass) cost += changeCost;
        if (previous >= 0 && next >= 0 && previous !== next) cost -= changeCost;
        if (cost >= best) continue;
      }
      if (span && this.spanClear[hasAfter ? startAfter[end]! : end]! > this.spanStart[t]!) continue;
      if (noLead.length > 0 && t < first && overlapsAny(noLead, t - leadMinutes, t)) continue;
      best = cost;
      this.stretchStart = t;
      this.stretchAlternative = index;
    }
    this.stretchBest = best;
  }

  /** Writes down the chain of the best anchor start, while the passes still hold it. */
  private trace(): void {
    const { mode } = this;
    this.foundStart[mode.anchor] = this.stretchStart;
    this.foundAlternative[mode.anchor] = this.stretchAlternative;
    let end = this.endBefore[mode.anchor]![this.stretchStart]!;
    for (let k = mode.anchor - 1; k >= 0; k--) {
      const start = this.startByEnd[k + 1]![end]!;
      this.foundStart[k] = start;
      this.foundAlternative[k] = this.alternativeByEnd[k + 1]![end]!;
      end = this.endBefore[k]![start]!;
    }
    this.foundMixEnd = end;
    end = this.stretchStart + mode.operations[mode.anchor]!.alternatives[this.stretchAlternative]!.minutes;
    for (let k = mode.anchor + 1; k < mode.operations.length; k++) {
      const start = this.startAfter[k]![end]!;
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

export function overlapsAny(spans: Int32Array, from: number, to: number): boolean {
  for (let i = 0; i < spans.length; i += 2) if (spans[i]! < to && from < spans[i + 1]!) return true;
  return false;
}
