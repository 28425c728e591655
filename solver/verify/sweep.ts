/** A use of something for a while. */
export interface Use {
  readonly from: number;
  readonly to: number;
  readonly amount: number;
  readonly task: string;
}

export interface Overuse {
  readonly at: number;
  readonly used: number;
  readonly tasks: string[];
}

interface Edge {
  readonly at: number;
  readonly delta: number;
}

function inOrder(a: Edge, b: Edge): number {
  return a.at - b.at || a.delta - b.delta;
}

interface Span {
  readonly from: number;
  readonly to: number;
}

function byFrom(a: Span, b: Span): number {
  return a.from - b.from || a.to - b.to;
}

/** Sorted in place. What is in order already, as it mostly is, is not copied as sorting does. */
export function ordered<T>(list: T[], compare: (a: T, b: T) => number): T[] {
  for (let i = 1; i < list.length; i++) if (compare(list[i]!, list[i - 1]!) < 0) return list.sort(compare);
  return list;
}

interface Weight extends Span {
  readonly amount: number;
}

/** Do uses ever add up to more than a limit? They are most as one begins. */
function everExceeds(uses: readonly Weight[], limit: number): boolean {
  let sum = 0;
  for (const { amount } of uses) sum += amount;
  if (sum <= limit) return false;
  const active: Weight[] = [];
  for (const use of ordered([...uses], byFrom)) {
    if (!(use.to > use.from)) continue;
    let used = use.amount;
    let kept = 0;
    for (const other of active) {
      if (other.to <= use.from) continue;
      active[kept++] = other;
      used += other.amount;
    }
    if (used > limit) return true;
    active.length = kept;
    active.push(use);
  }
  return false;
}

const NO_OVERUSES: Overuse[] = [];

/**
 * Instants from which on uses add up to more than the limit (with a little slack for sums of fractions): at first, and when another joins. Where they
 * stay within half the slack, which no rounding of sums makes up for, there is none.
 */
export function overuses(uses: readonly Use[], limit: number, slack = 1e-6): readonly Overuse[] {
  if (!everExceeds(uses, limit + slack / 2)) return NO_OVERUSES;
  const edges: Edge[] = [];
  for (const { from, to, amount } of uses)
    if (to > from) edges.push({ at: from, delta: amount }, { at: to, delta: -amount });
  edges.sort(inOrder);
  const found: Overuse[] = [];
  let used = 0;
  let over = false;
  let joined = false;
  for (let i = 0; i < edges.length; i++) {
    used += edges[i]!.delta;
    joined ||= edges[i]!.delta > 0;
    if (i + 1 < edges.length && edges[i + 1]!.at === edges[i]!.at) continue;
    const isOver = used > limit + slack;
    const at = edges[i]!.at;
    if (isOver && (!over || joined)) {
      found.push({ at, used, tasks: uses.filter((use) => use.from <= at && at < use.to).map((use) => use.task) });
    }
    over = isOver;
    joined = false;
  }
  return found;
}

/** Pairs of uses that overlap, neighbours in time first. */
export function overlaps<T extends Span>(uses: readonly T[]): [T, T][] {
  const sorted: T[] = [];
  for (const use of uses) if (use.to > use.from) sorted.push(use);
  ordered(sorted, byFrom);
  const found: [T, T][] = [];
  let longest: T | null = null;
  for (const use of sorted) {
    if (longest && use.from < longest.to) found.push([longest, use]);
    if (!longest || use.to > longest.to) longest = use;
  }
  return found;
}

export function grouped<T>(items: readonly T[], key: (item: T) => string): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const item of items) {
    const name = key(item);
    const list = groups.get(name);
    if (list) list.push(item);
    else groups.set(name, [item]);
  }
  return groups;
}
