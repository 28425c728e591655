/**
 * Excess temperature at the middle of a slab cooled on both faces, as a share of the start, at the ends of an even number of equal steps, by finite
 * differences (Crank-Nicolson on half the slab, no flow through the middle, film at the face).
 */
export function slabMiddles(
  halfM: number,
  alpha: number,
  conductivity: number,
  film: number,
  seconds: number,
): Float64Array {
  const n = 40;
  const dx = halfM / n;
  const steps = Math.max(60, 2 * Math.ceil(seconds / 240));
  const middles = new Float64Array(steps + 1).fill(1);
  const r = (alpha * (seconds / steps)) / (2 * dx * dx);
  const beta = (film * dx) / conductivity;
  let u = new Float64Array(n + 1).fill(1);
  const upper = new Float64Array(n + 1);
  const right = new Float64Array(n + 1);
  for (let s = 0; s < steps; s++) {
    const flow = (i: number): number => {
      if (i === 0) return 2 * (u[1]! - u[0]!);
      if (i === n) return 2 * (u[n - 1]! - u[n]! - beta * u[n]!);
      return u[i - 1]! - 2 * u[i]! + u[i + 1]!;
    };
    let previous = 0;
    for (let i = 0; i <= n; i++) {
      const lower = i === 0 ? 0 : i === n ? -2 * r : -r;
      const above = i === 0 ? -2 * r : i === n ? 0 : -r;
      const diagonal = 1 + 2 * r + (i === n ? 2 * r * beta : 0);
      const pivot = diagonal - lower * (i === 0 ? 0 : upper[i - 1]!);
      upper[i] = above / pivot;
      right[i] = (u[i]! + r * flow(i) - lower * previous) / pivot;
      previous = right[i]!;
    }
    const next = new Float64Array(n + 1);
    next[n] = right[n]!;
    for (let i = n - 1; i >= 0; i--) next[i] = right[i]! - upper[i]! * next[i + 1]!;
    u = next;
    middles[s + 1] = u[0]!;
  }
  return middles;
}

/** The same at the end. */
export function slabMiddle(halfM: number, alpha: number, conductivity: number, film: number, seconds: number): number {
  return slabMiddles(halfM, alpha, conductivity, film, seconds).at(-1)!;
}
