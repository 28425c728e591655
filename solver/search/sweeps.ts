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
  let bad = lastWithout(free, base, amount, low, low + minutes - 1);
  for (let t = low, i = base + low + minutes - 1; t <= high; t++, i++) {
    if (minutes > 0 && free[i]! < amount) bad = t + minutes - 1;
    if (bad < t) mark[t] = 1;
  }
}

/** Strikes out (-1) the starts in [low, high] from which there is no room for `minutes` on end. */
export function keepClear(
  free: Int32Array,
  base: number,
  amount: number,
  minutes: number,
  low: number,
  high: number,
  starts: Int32Array,
): void {
  let bad = lastWithout(free, base, amount, low, low + minutes - 1);
  for (let t = low, i = base + low + minutes - 1; t <= high; t++, i++) {
    if (free[i]! < amount) bad = t + minutes - 1;
    if (bad >= t) starts[t] = -1;
  }
}
