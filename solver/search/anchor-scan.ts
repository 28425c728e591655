import type { FinishPasses } from "./finish-passes.js";
import type { Mode } from "./model.js";
import type { State } from "./state.js";

/** What a start of the anchor costs besides its heater. */
export interface AnchorCosts {
  /** Whatever the minute: a trip first used, a ride that is late anyway. */
  readonly fixed: number;
  /** By the end of the chain. */
  readonly early: Int32Array;
  /** By the end of the chain; null when a ride decides the delivery. */
  readonly late: Int32Array | null;
}

/** Looks for the cheapest start of the anchor among those that the passes reach. */
export class AnchorScan {
  /** Cheapest so far, and where; start -1: nowhere below what was asked. */
  best = 0;
  start = -1;
  alternative = -1;
  /** A start at which it may not be, or -1. */
  barredStart = -1;
  /** By start: may the anchor be there, when does the stock that spans it begin; by minute: since when is that stock free. */
  readonly allowed: Uint8Array;
  readonly spanStart: Int32Array;
  readonly spanClear: Int32Array;
  private readonly state: State;
  private readonly finishes: FinishPasses;

  constructor(state: State, finishes: FinishPasses) {
    const size = state.horizon + 2;
    this.state = state;
    this.finishes = finishes;
    this.allowed = new Uint8Array(size);
    this.spanStart = new Int32Array(size);
    this.spanClear = new Int32Array(size);
  }

  /** The cheapest start on one alternative of the anchor. */
  tryAlternative(mode: Mode, index: number, low: number, high: number, costs: AnchorCosts): void {
    const { fixed, early, late } = costs;
    const { state, allowed } = this;
    const { horizon, free, model } = state;
    const alternative = mode.operations[mode.anchor]!.alternatives[index]!;
    const { row, amount, minutes } = alternative;
    const base = row * horizon;
    const heater = model.heaterOfRow[row]!;
    const klass = model.classOfRow[row]!;
    const hasAfter = mode.operations.length > mode.anchor + 1;
    const finishBy = this.finishes.finishAfter[mode.anchor + 1]!;
    const startAfter = this.finishes.startAfter[mode.anchor + 1]!;
    const span = mode.spans.find((s) => s.fromOperation >= 0 && s.toOperation > mode.anchor);
    let { best } = this;
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
      this.start = t;
      this.alternative = index;
    }
    this.best = best;
  }
}

export function overlapsAny(spans: Int32Array, from: number, to: number): boolean {
  for (let i = 0; i < spans.length; i += 2) if (spans[i]! < to && from < spans[i + 1]!) return true;
  return false;
}
