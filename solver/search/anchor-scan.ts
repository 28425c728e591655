import type { FinishPasses } from "./finish-passes.js";
import type { MinuteSet } from "./minute-set.js";
import type { LoadHome, Mode, Span } from "./model.js";
import type { State } from "./state.js";
import { firstWithout, lastWithout } from "./sweeps.js";

/** What a start of the anchor costs besides its heater. */
export interface AnchorCosts {
  /** Whatever the minute: a trip first used, a ride that is late anyway. */
  readonly fixed: number;
  /** By the end of the chain. */
  readonly early: Int32Array;
  /** By the end of the chain; null when a ride decides the delivery. */
  readonly late: Int32Array | null;
  /** Where it is in the plan in force, if any: elsewhere costs extra. */
  readonly home: LoadHome | undefined;
}

/** Which of the places open to an anchor is taken; set by whoever asks, read while scanning. */
export class AnchorChoice {
  /** Alternatives passed over (bits); cleared after each find. */
  passedOver = 0;
  /** A start at which it may not be, or -1; cleared after each find. */
  barredStart = -1;
  /** A heater on which it may not be, or -1. */
  barredHeater = -1;
  /** Among starts that cost the same the latest is taken, else the earliest. */
  prefersLate = false;
  /** Alternatives are tried from this one on. */
  firstAlternative = 0;
}

/** Looks for the cheapest start of the anchor among those that the passes reach. */
export class AnchorScan {
  /** Cheapest so far, and where; start -1: nowhere below what was asked. */
  best = 0;
  start = -1;
  alternative = -1;
  /** By start: since when the stock that spans the anchor is taken; by minute: since when that stock is free. */
  readonly spanStart: Int32Array;
  readonly spanClear: Int32Array;
  private readonly state: State;
  private readonly finishes: FinishPasses;
  private readonly choice: AnchorChoice;
  /** Starts whose chain can be finished, the preferred end of the window first, with what they cost without the heater. */
  private readonly starts: Int32Array;
  private readonly costs: Int32Array;
  private count = 0;
  private cheapest = 0;
  private minutes = -1;

  constructor(state: State, finishes: FinishPasses, choice: AnchorChoice) {
    const size = state.horizon + 2;
    this.choice = choice;
    this.state = state;
    this.finishes = finishes;
    this.spanStart = new Int32Array(size);
    this.spanClear = new Int32Array(size);
    this.starts = new Int32Array(size);
    this.costs = new Int32Array(size);
  }

  /**
   * Tries the alternatives that the choice leaves, for the starts of `reached`; finds what costs less than `below`. The stock that spans the anchor is given
   * only when it could be short.
   */
  run(mode: Mode, reached: MinuteSet, costs: AnchorCosts, below: number, span: Span | null): void {
    const { passedOver, barredHeater, firstAlternative } = this.choice;
    this.best = below;
    this.start = -1;
    this.minutes = -1;
    const { alternatives } = mode.operations[mode.anchor]!;
    for (let i = 0; i < alternatives.length; i++) {
      const a = (i + firstAlternative) % alternatives.length;
      if (a < 31 && (passedOver & (1 << a)) !== 0) continue;
      const { minutes, row } = alternatives[a]!;
      if (barredHeater >= 0 && this.state.model.heaterOfRow[row] === barredHeater) continue;
      if (minutes !== this.minutes) this.gather(mode, reached, minutes, costs);
      if (this.count === 0 || this.cheapest >= this.best) continue;
      const { home } = costs;
      this.tryAlternative(mode, a, span, home && home.row !== row ? home.otherRowCost : 0);
    }
  }

  /** Lists the starts that are worth trying for a bake of so many minutes. */
  private gather(mode: Mode, reached: MinuteSet, minutes: number, { fixed, early, late, home }: AnchorCosts): void {
    const { starts, costs, best } = this;
    const { barredStart, prefersLate } = this.choice;
    const hasAfter = mode.operations.length > mode.anchor + 1;
    const finishes = this.finishes.finishAfter[mode.anchor + 1]!;
    const latest = this.state.horizon - minutes;
    let count = 0;
    let cheapest = best;
    for (let i = 0; i < reached.count; i++) {
      const n = prefersLate ? reached.count - 1 - i : i;
      const from = reached.from[n]!;
      const to = Math.min(reached.to[n]!, latest);
      for (let j = 0; j <= to - from; j++) {
        const t = prefersLate ? to - j : from + j;
        if (t === barredStart) continue;
        const finish = hasAfter ? finishes[t + minutes]! : t + minutes;
        if (finish < 0 || finish > mode.finishBy) continue;
        const cost = fixed + early[finish]! + (late === null ? 0 : late[finish]!) + (home ? home.moveCost[t]! : 0);
        if (cost >= best) continue;
        if (cost < cheapest) cheapest = cost;
        starts[count] = t;
        costs[count++] = cost;
      }
    }
    this.count = count;
    this.cheapest = cheapest;
    this.minutes = minutes;
  }

  /** The cheapest start on one alternative. */
  private tryAlternative(mode: Mode, index: number, span: Span | null, extra: number): void {
    const { state, starts, costs, count } = this;
    const { horizon, free, model, heaters } = state;
    const { row, amount, minutes } = mode.operations[mode.anchor]!.alternatives[index]!;
    const base = row * horizon;
    const heater = model.heaterOfRow[row]!;
    const klass = model.classOfRow[row]!;
    const { leadMinutes, costPerMinute, stretches, noLead } = model.heaters[heater]!;
    const changeWeight = heaters.changeWeights[heater]!;
    const { prefersLate } = this.choice;
    const earliest = prefersLate ? starts[count - 1]! : starts[0]!;
    const latest = prefersLate ? starts[0]! : starts[count - 1]!;
    let best = this.best;
    let stretchFrom = 0;
    let stretchTo = -1;
    let first = 0;
    let last = 0;
    if (stretches.length === 2) {
      // One stretch: what the heater must cost at least, wherever in the window.
      first = heaters.first(heater, 0);
      last = heaters.last(heater, 0);
      const more =
        last < 0 ? minutes + leadMinutes : Math.max(0, first - latest) + Math.max(0, earliest + minutes - last);
      if (this.cheapest + extra + more * costPerMinute >= best) return;
    }
    const startAfter = this.finishes.startAfter[mode.anchor + 1]!;
    const hasAfter = mode.operations.length > mode.anchor + 1;
    const from = heaters.from(heater);
    const until = heaters.until(heater);
    const { starts: loadStarts, classes } = heaters;
    let place = from;
    // Minutes between the start at hand and `clear` are known to be free; the far end is read first, so that a minute
    // without room rules out as many starts as can be.
    let clear = prefersLate ? latest + minutes : earliest;
    for (let c = 0; c < count; c++) {
      const t = starts[c]!;
      const end = t + minutes;
      if (prefersLate) {
        const to = Math.min(clear, end);
        const bad = firstWithout(free, base, amount, t, to);
        clear = t;
        if (bad < to) {
          while (c + 1 < count && starts[c + 1]! + minutes > bad) c++;
          continue;
        }
      } else {
        const low = Math.max(clear, t);
        const bad = lastWithout(free, base, amount, low, end);
        clear = end;
        if (bad >= low) {
          while (c + 1 < count && starts[c + 1]! <= bad) c++;
          continue;
        }
      }
      let cost = costs[c]! + extra;
      if (cost >= best) continue;
      if (t < stretchFrom || t >= stretchTo) {
        const stretch = heaters.stretchAt(heater, t);
        if (stretch < 0) continue;
        stretchFrom = stretches[2 * stretch]!;
        stretchTo = stretches[2 * stretch + 1]!;
        first = heaters.first(heater, stretch);
        last = heaters.last(heater, stretch);
      }
      if (last < 0) cost += (minutes + leadMinutes) * costPerMinute;
      else cost += ((t < first ? first - t : 0) + (end > last ? end - last : 0)) * costPerMinute;
      if (cost >= best) continue;
      if (changeWeight > 0) {
        while (place > from && loadStarts[place - 1]! > t) place--;
        while (place < until && loadStarts[place]! <= t) place++;
        const previous = place > from ? classes[place - 1]! : -1;
        const next = place < until ? classes[place]! : -1;
        if (previous >= 0 && previous !== klass) cost += changeWeight;
        if (next >= 0 && next !== klass) cost += changeWeight;
        if (previous >= 0 && next >= 0 && previous !== next) cost -= changeWeight;
        if (cost >= best) continue;
      }
      if (span && this.spanClear[hasAfter ? startAfter[end]! : end]! > this.spanStart[t]!) continue;
      if (noLead.length > 0 && t < first && overlapsAny(noLead, t - leadMinutes, t)) continue;
      best = cost;
      this.best = cost;
      this.start = t;
      this.alternative = index;
      if (best <= this.cheapest + extra) return;
    }
  }
}

export function overlapsAny(spans: Int32Array, from: number, to: number): boolean {
  for (let i = 0; i < spans.length; i += 2) if (spans[i]! < to && from < spans[i + 1]!) return true;
  return false;
}
