import type { MadeChain } from "./chains.js";
import type { FlowColumn } from "./columns.js";
import { leastWithin, type Per, type Use } from "./needs.js";
import type { Pool } from "./pools.js";

/** What a pool offers between two minutes is not exceeded by what every plan takes of it there at the least. */
export interface Cut {
  readonly pool: number;
  readonly from: number;
  readonly to: number;
}

/** The uses of each pool, with the column that they are of. */
export type PoolUses = readonly (readonly { readonly column: number; readonly use: Use }[])[];

export function usesByPool(pools: readonly Pool[], columns: readonly FlowColumn[]): PoolUses {
  const byPool: { column: number; use: Use }[][] = pools.map(() => []);
  columns.forEach(({ uses }, column) => {
    for (const use of uses) byPool[use.pool]!.push({ column, use });
  });
  return byPool;
}

/** Amount-minutes that a pool offers in a cut. */
export function offered(pool: Pool, { from, to }: Cut): number {
  return pool.sums[to]! - pool.sums[from]!;
}

/** Calls back with the least amount-minutes in a cut of a piece of each column, and of a whole pan or tub when it is counted by those. */
export function eachCoefficient(
  uses: PoolUses[number],
  columns: readonly FlowColumn[],
  { from, to }: Cut,
  take: (column: number, per: Per, perPiece: number, each: number) => void,
): void {
  for (const { column, use } of uses) {
    const perPiece = leastWithin(use, from, to);
    if (perPiece > 0) take(column, use.per, perPiece, perPiece / rateOf(columns[column]!.chain, use.per));
  }
}

/** Pans or tubs of a piece. */
export function rateOf(chain: MadeChain, per: Per): number {
  return per === "pan" ? chain.panRate : per === "tub" ? chain.tubRate : 1;
}

/** What a point has in each column: pieces, and pans and tubs beyond what they fill. */
export interface FlowPoint {
  readonly pieces: Float64Array;
  readonly spare: Readonly<Record<"pan" | "tub", Float64Array>>;
}

export interface Violated extends Cut {
  /** By how much of what is offered the point takes too much. */
  readonly excess: number;
}

/**
 * The intervals (edges on a grid of `gridMinutes`) in which a point takes more of a pool than it offers, worst first, at most `most` that do not
 * share both edges' neighbourhood.
 */
export function violatedCuts(
  pool: Pool,
  number: number,
  uses: PoolUses[number],
  columns: readonly FlowColumn[],
  point: FlowPoint,
  gridMinutes: number,
  most: number,
): Violated[] {
  const horizon = pool.line.length;
  const edges = gridEdges(horizon, gridMinutes);
  const n = edges.length;
  const taken = new Float64Array(n * n);
  let any = false;
  for (const { column, use } of uses) {
    const { per } = use;
    const spare = per === "piece" ? 0 : point.spare[per][column]! / rateOf(columns[column]!.chain, per);
    const pieces = point.pieces[column]! + spare;
    if (pieces < 1e-7) continue;
    any = true;
    spread(use, pieces, edges, taken);
  }
  if (!any) return [];
  const found: Violated[] = [];
  for (let i = 0; i < n; i++) {
    for (let j = i + 1; j < n; j++) {
      const cap = pool.sums[edges[j]!]! - pool.sums[edges[i]!]!;
      const over = taken[i * n + j]! - cap;
      if (over > 1e-4 * (1 + cap))
        found.push({ pool: number, from: edges[i]!, to: edges[j]!, excess: over / (cap + gridMinutes) });
    }
  }
  found.sort((a, b) => b.excess - a.excess);
  const chosen: Violated[] = [];
  for (const cut of found) {
    if (chosen.length >= most) break;
    const isNear = chosen.some(
      (other) => Math.abs(other.from - cut.from) + Math.abs(other.to - cut.to) <= 3 * gridMinutes,
    );
    if (!isNear) chosen.push(cut);
  }
  return chosen;
}

export function gridEdges(horizon: number, gridMinutes: number): Int32Array {
  const count = Math.ceil(horizon / gridMinutes);
  return Int32Array.from({ length: count + 1 }, (_, i) => Math.min(horizon, i * gridMinutes));
}

/** Adds what pieces take, at the least, to every interval of the grid. */
function spread(use: Use, pieces: number, edges: Int32Array, taken: Float64Array): void {
  const n = edges.length;
  // Outside (first, last) an edge might as well be at the use's own limit.
  let first = 0;
  while (first + 1 < n && edges[first + 1]! <= use.startFrom) first++;
  let last = n - 1;
  while (last - 1 >= 0 && edges[last - 1]! >= use.endTo) last--;
  for (let i = first; i < last; i++) {
    for (let j = Math.max(i + 1, first + 1); j <= last; j++) {
      const amount = leastWithin(use, edges[i]!, edges[j]!) * pieces;
      if (amount <= 0) continue;
      const low = i === first ? 0 : i;
      const high = j === last ? n - 1 : j;
      for (let a = low; a <= i; a++) for (let b = j; b <= high; b++) taken[a * n + b] = taken[a * n + b]! + amount;
    }
  }
}
