/** More than this are not listed. */
const MAX_PATTERNS = 120;

/** Items that are alike: how much each takes, and how many there are. */
export interface Kind {
  readonly size: number;
  readonly count: number;
}

/**
 * What can lie together in `capacity`: the ways to take items of these kinds such that no further item fits. Null when there
 * are too many to list.
 */
export function maximalPatterns(kinds: readonly Kind[], capacity: number): number[][] | null {
  const found: number[][] = [];
  const counts = kinds.map(() => 0);
  const isFull = (left: number): boolean => kinds.every(({ size, count }, i) => size > left || counts[i] === count);
  const fill = (at: number, left: number): boolean => {
    if (at === kinds.length) {
      if (isFull(left)) found.push([...counts]);
      return found.length <= MAX_PATTERNS;
    }
    const { size, count } = kinds[at]!;
    for (let n = Math.min(count, Math.floor(left / size)); n >= 0; n--) {
      counts[at] = n;
      if (!fill(at + 1, left - n * size)) return false;
    }
    return true;
  };
  return fill(0, capacity) ? found : null;
}

/** Capacity shared in any proportion, as one pattern per kind: what is left when there are too many patterns to list. */
export function plainShares(kinds: readonly Kind[], capacity: number): number[][] {
  return kinds.map(({ size }, i) => kinds.map((_, j) => (i === j ? capacity / size : 0)));
}
