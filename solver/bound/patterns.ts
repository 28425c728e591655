/** More than this are not listed. */
const MAX_PATTERNS = 120;

/**
 * What can lie together in `capacity`: the ways to take items of the sizes given such that no further item fits. Null when there
 * are too many to list.
 */
export function maximalPatterns(sizes: readonly number[], capacity: number): number[][] | null {
  const found: number[][] = [];
  const smallest = Math.min(...sizes);
  const counts = sizes.map(() => 0);
  const fill = (at: number, left: number): boolean => {
    if (at === sizes.length) {
      if (left >= smallest) return true;
      found.push([...counts]);
      return found.length <= MAX_PATTERNS;
    }
    for (let n = Math.floor(left / sizes[at]!); n >= 0; n--) {
      counts[at] = n;
      if (!fill(at + 1, left - n * sizes[at]!)) return false;
    }
    counts[at] = 0;
    return true;
  };
  return fill(0, capacity) ? found : null;
}

/** Capacity shared in any proportion, as one pattern per size: what is left when there are too many patterns to list. */
export function plainShares(sizes: readonly number[], capacity: number): number[][] {
  return sizes.map((size, i) => sizes.map((_, j) => (i === j ? capacity / size : 0)));
}
