/** Anything with a beginning and an end. */
export interface Stay {
  readonly fromMs: number;
  readonly toMs: number;
}

/**
 * The least number of lanes in which no two stays overlap, taken in order of start; each stay takes `widthOf` neighbouring lanes. Returns
 * the first lane of each stay (in the order given) and how many lanes there are.
 */
export function packLanes<T extends Stay>(
  stays: readonly T[],
  widthOf: (stay: T) => number = () => 1,
): { readonly lanes: readonly number[]; readonly count: number } {
  const order = stays.map((_, i) => i).sort((a, b) => stays[a]!.fromMs - stays[b]!.fromMs || a - b);
  const freeFrom: number[] = [];
  const lanes = new Array<number>(stays.length).fill(0);
  for (const i of order) {
    const stay = stays[i]!;
    const width = Math.max(1, widthOf(stay));
    let lane = 0;
    while (!isFree(freeFrom, lane, width, stay.fromMs)) lane++;
    for (let k = lane; k < lane + width; k++) freeFrom[k] = stay.toMs;
    lanes[i] = lane;
  }
  return { lanes, count: Math.max(1, freeFrom.length) };
}

function isFree(freeFrom: readonly number[], lane: number, width: number, fromMs: number): boolean {
  for (let k = lane; k < lane + width; k++) if ((freeFrom[k] ?? Number.NEGATIVE_INFINITY) > fromMs) return false;
  return true;
}

/** Whole numbers as runs: 1 2 3 7 becomes [1,3] [7,7]. */
export function runs(numbers: readonly number[]): [number, number][] {
  const found: [number, number][] = [];
  for (const n of [...numbers].sort((a, b) => a - b)) {
    const last = found[found.length - 1];
    if (last && n <= last[1] + 1) last[1] = Math.max(last[1], n);
    else found.push([n, n]);
  }
  return found;
}
