/**
 * When a unit is clear for what may not follow, or come before, without some minutes of work on it (cleaning) in between: the work is done in one go, and
 * never during a standstill. `spans`: from..to pairs in order of time, none overlapping.
 */

/** The first minute by which `minutes` of work that begins no earlier than `end` can be done. */
export function clearFrom(spans: Int32Array, end: number, minutes: number): number {
  if (minutes === 0) return end;
  let start = end;
  for (let i = 0; i < spans.length; i += 2)
    if (start + minutes > spans[i]! && start < spans[i + 1]!) start = spans[i + 1]!;
  return start + minutes;
}

/** The last minute at which `minutes` of work that is done by `start` can begin. */
export function clearUntil(spans: Int32Array, start: number, minutes: number): number {
  if (minutes === 0) return start;
  let end = start;
  for (let i = spans.length - 2; i >= 0; i -= 2) if (end > spans[i]! && end - minutes < spans[i + 1]!) end = spans[i]!;
  return end - minutes;
}
