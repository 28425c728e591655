/** Minutes by which the line between two points may run above the cost before a point is put between. Half a unit and a little is what rounding makes. */
const MOST_EXCESS = 0.75;

/** Starts at which the minutes used in each step bend, and at which the cost does: any start of a step lies between two of them. */
export function startPoints(
  from: number,
  to: number,
  step: number,
  durations: readonly number[],
  costs: Int32Array | null,
): number[] {
  const points: number[] = [];
  for (let t = from; t <= to; t++) {
    const isEdge = t === from || t === to || t % step === 0 || t % step === step - 1;
    if (!isEdge && !durations.some((minutes) => (t + minutes) % step === 0)) continue;
    const last = points.at(-1);
    if (costs && last !== undefined && Math.floor(last / step) === Math.floor(t / step))
      bends(last, t, (minute) => costs[minute - from]!, points);
    points.push(t);
  }
  return points;
}

/** Puts in the starts between two at which the cost is furthest below the line. */
function bends(a: number, b: number, cost: (minute: number) => number, points: number[]): void {
  let worst = MOST_EXCESS;
  let at = -1;
  for (let t = a + 1; t < b; t++) {
    const excess = cost(a) + ((cost(b) - cost(a)) * (t - a)) / (b - a) - cost(t);
    if (excess <= worst) continue;
    worst = excess;
    at = t;
  }
  if (at < 0) return;
  bends(a, at, cost, points);
  points.push(at);
  bends(at, b, cost, points);
}

/**
 * Costs at the points such that no start between two points of its step costs less than the line between them: where the line
 * runs above the cost, both ends are lowered.
 */
export function segmentCosts(points: readonly number[], from: number, step: number, costs: Int32Array): Float64Array {
  const lowered = Float64Array.from(points, (t) => costs[t - from]!);
  for (let i = 0; i + 1 < points.length; i++) {
    const a = points[i]!;
    const b = points[i + 1]!;
    if (Math.floor(a / step) !== Math.floor(b / step)) continue;
    let excess = 0;
    for (let t = a + 1; t < b; t++) {
      const line = costs[a - from]! + ((costs[b - from]! - costs[a - from]!) * (t - a)) / (b - a);
      excess = Math.max(excess, line - costs[t - from]!);
    }
    lowered[i] = Math.min(lowered[i]!, costs[a - from]! - excess);
    lowered[i + 1] = Math.min(lowered[i + 1]!, costs[b - from]! - excess);
  }
  return lowered;
}
