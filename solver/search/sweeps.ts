import type { CrewNeed, Operation } from "./model.js";

/**
 * Tight loops over one row's free amounts: `base` is where the row begins in `free`, minutes count from there. Everything
 * the insertion does with rows is one of these; none allocates.
 */

/** The first minute in [from, to) without room, or `to`. */
export function firstWithout(free: Int32Array, base: number, amount: number, from: number, to: number): number {
  for (let i = base + from, end = base + to; i < end; i++) if (free[i]! < amount) return i - base;
  return to;
}

/** The last minute in [from, to) without room, or from - 1. */
export function lastWithout(free: Int32Array, base: number, amount: number, from: number, to: number): number {
  for (let i = base + to - 1, end = base + from; i >= end; i--) if (free[i]! < amount) return i - base;
  return from - 1;
}

/** Marks the starts in [low, high] from which there is room for `minutes` on end. */
export function markClear(
  free: Int32Array,
  base: number,
  amount: number,
  minutes: number,
  low: number,
  high: number,
  mark: Uint8Array,
): void {
  if (minutes === 0) {
    mark.fill(1, low, high + 1);
    return;
  }
  let bad = lastWithout(free, base, amount, low, low + minutes - 1);
  for (let t = low, end = low + minutes - 1; t <= high; t++, end++) {
    if (free[base + end]! < amount) bad = end;
    if (bad < t) mark[t] = 1;
  }
}

/** Strikes out (-1) the starts in [low, high] at which nobody of the crew's rows is there for `minutes` on end. */
export function strikeUncrewed(
  free: Int32Array,
  horizon: number,
  { rows, heads }: CrewNeed,
  minutes: number,
  low: number,
  high: number,
  starts: Int32Array,
  mark: Uint8Array,
): void {
  if (low > high) return;
  const last = Math.min(high, horizon - minutes);
  mark.fill(0, low, high + 1);
  for (let i = 0; i < rows.length; i++) markClear(free, rows[i]! * horizon, heads, minutes, low, last, mark);
  for (let t = low; t <= high; t++) if (mark[t] === 0) starts[t] = -1;
}

/** For how long an operation needs its people: the longest of alternatives of unlike length. */
export function crewMinutes(operation: Operation): number {
  let minutes = operation.crew!.minutes;
  if (minutes > 0) return minutes;
  for (let a = 0; a < operation.alternatives.length; a++)
    minutes = Math.max(minutes, operation.alternatives[a]!.minutes);
  return minutes;
}
