import type { MinuteSet } from "./minute-set.js";
import type { CrewNeed, Operation } from "./model.js";

/**
 * Tight loops over one row's free amounts: `base` is where the row begins in `free`, minutes count from there. Everything
 * the insertion does with rows is one of these; none allocates. Four minutes are looked at in one comparison (the sign of what is left says
 * whether there is room; amounts are far from overflow), and sums are cut to 32 bits: an engine then needs no check per minute, a third of the time.
 */

/** Adds to the free amounts of a row in [from, to). */
export function addTo(free: Int32Array, base: number, delta: number, from: number, to: number): void {
  let i = (base + from) | 0;
  const end = (base + to) | 0;
  for (const last = end - 3; i < last; i += 4) {
    free[i] = (free[i]! + delta) | 0;
    free[i + 1] = (free[i + 1]! + delta) | 0;
    free[i + 2] = (free[i + 2]! + delta) | 0;
    free[i + 3] = (free[i + 3]! + delta) | 0;
  }
  for (; i < end; i++) free[i] = (free[i]! + delta) | 0;
}

/** The first minute in [from, to) without room, or `to`. */
export function firstWithout(free: Int32Array, base: number, amount: number, from: number, to: number): number {
  let i = (base + from) | 0;
  const end = (base + to) | 0;
  for (const last = end - 3; i < last; i += 4) {
    const left = (free[i]! - amount) | (free[i + 1]! - amount) | (free[i + 2]! - amount) | (free[i + 3]! - amount);
    if (left < 0) break;
  }
  for (; i < end; i++) if (free[i]! < amount) return i - base;
  return to;
}

/** The first minute in [from, to) with room, or `to`. */
export function firstWith(free: Int32Array, base: number, amount: number, from: number, to: number): number {
  let i = (base + from) | 0;
  const end = (base + to) | 0;
  for (const last = end - 3; i < last; i += 4) {
    const left = (free[i]! - amount) & (free[i + 1]! - amount) & (free[i + 2]! - amount) & (free[i + 3]! - amount);
    if (left >= 0) break;
  }
  for (; i < end; i++) if (free[i]! >= amount) return i - base;
  return to;
}

/** The last minute in [from, to) without room, or from - 1. */
export function lastWithout(free: Int32Array, base: number, amount: number, from: number, to: number): number {
  let i = (base + to - 1) | 0;
  const end = (base + from) | 0;
  for (const last = end + 3; i >= last; i -= 4) {
    const left = (free[i]! - amount) | (free[i - 1]! - amount) | (free[i - 2]! - amount) | (free[i - 3]! - amount);
    if (left < 0) break;
  }
  for (; i >= end; i--) if (free[i]! < amount) return i - base;
  return from - 1;
}

/** Adds to `kept` those of `starts` from which the row has room for `minutes` on end before the horizon. */
export function keepClear(
  starts: MinuteSet,
  free: Int32Array,
  horizon: number,
  row: number,
  amount: number,
  minutes: number,
  kept: MinuteSet,
): void {
  const base = row * horizon;
  for (let n = 0; n < starts.count; n++) {
    let from = starts.from[n]!;
    const to = Math.min(starts.to[n]!, horizon - minutes);
    while (from <= to) {
      const bad = minutes === 0 ? to : firstWithout(free, base, amount, from, to + minutes);
      kept.add(from, Math.min(to, bad - minutes));
      if (bad >= to + minutes) break;
      from = firstWith(free, base, amount, bad + 1, to + 1);
    }
  }
}

/** Adds to `kept` those of `starts` at which somebody of the crew's rows is there for `minutes` on end. */
export function keepCrewed(
  starts: MinuteSet,
  free: Int32Array,
  horizon: number,
  crew: CrewNeed,
  minutes: number,
  kept: MinuteSet,
): void {
  const { rows, heads } = crew;
  for (let i = 0; i < rows.length; i++) keepClear(starts, free, horizon, rows[i]!, heads, minutes, kept);
}

/** For how long an operation needs its people: the longest of alternatives of unlike length. */
export function crewMinutes(operation: Operation): number {
  let minutes = operation.crew!.minutes;
  if (minutes > 0) return minutes;
  for (let a = 0; a < operation.alternatives.length; a++)
    minutes = Math.max(minutes, operation.alternatives[a]!.minutes);
  return minutes;
}
