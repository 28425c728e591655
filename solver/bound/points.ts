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
    const bends = durations.some((minutes) => (t + minutes) % step === 0);
    if (isEdge || bends || (costs !== null && costBends(costs, t - from))) points.push(t);
  }
  return points;
}

/** A bend of more than what rounding makes. */
function costBends(costs: Int32Array, i: number): boolean {
  return i > 0 && i + 1 < costs.length && Math.abs(costs[i - 1]! - 2 * costs[i]! + costs[i + 1]!) > 2;
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
