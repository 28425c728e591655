import type { MinuteSet } from "./minute-set.js";
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

/** The first minute in [from, to) with room, or `to`. */
export function firstWith(free: Int32Array, base: number, amount: number, from: number, to: number): number {
  for (let i = base + from, end = base + to; i < end; i++) if (free[i]! >= amount) return i - base;
  return to;
}

/** The last minute in [from, to) without room, or from - 1. */
export function lastWithout(free: Int32Array, base: number, amount: number, from: number, to: number): number {
  for (let i = base + to - 1, end = base + from; i >= end; i--) if (free[i]! < amount) return i - base;
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
