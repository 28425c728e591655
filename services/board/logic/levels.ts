/** How much of something is in use over time: a staircase of changes. */
export interface Level {
  /** From here on… */
  readonly ms: number;
  /** …so much is in use. */
  readonly used: number;
}

export interface Use {
  readonly fromMs: number;
  readonly toMs: number;
  readonly amount: number;
}

/** The staircase of sums of uses; begins with the first use, ends at 0. */
export function staircase(uses: readonly Use[]): Level[] {
  const changes = new Map<number, number>();
  for (const { fromMs, toMs, amount } of uses) {
    if (toMs <= fromMs || amount === 0) continue;
    changes.set(fromMs, (changes.get(fromMs) ?? 0) + amount);
    changes.set(toMs, (changes.get(toMs) ?? 0) - amount);
  }
  const levels: Level[] = [];
  let used = 0;
  for (const [ms, change] of [...changes].sort((a, b) => a[0] - b[0])) {
    if (change === 0) continue;
    used += change;
    levels.push({ ms, used });
  }
  return levels;
}

/** What is in use at an instant. */
export function levelAt(levels: readonly Level[], ms: number): number {
  let low = 0;
  let high = levels.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (levels[middle]!.ms <= ms) low = middle + 1;
    else high = middle;
  }
  return low === 0 ? 0 : levels[low - 1]!.used;
}

/** The greatest in a span. */
export function mostIn(levels: readonly Level[], fromMs: number, toMs: number): number {
  let most = levelAt(levels, fromMs);
  for (const { ms, used } of levels) {
    if (ms >= toMs) break;
    if (ms > fromMs && used > most) most = used;
  }
  return most;
}
