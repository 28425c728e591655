import { offered } from "./intervals.js";
import { leastWithin } from "./needs.js";
import type { Pool } from "./pools.js";
import type { NetworkProgram } from "./program.js";

/** Edges of the intervals that are looked at. */
const GRID_MINUTES = 120;
/** What the sums' rounding cannot make up. */
const ROUNDING = 1 + 1e-9;

/**
 * A multiple that certainly is not exceeded, by sums alone: whatever its way, a piece takes so much of what there is of a kind (shelf places,
 * people, decks) at all sites together between two instants, and no more is there. For each site the pool is counted that most ways take from. Weaker than the
 * program, which minds each site and pool, but known before it is solved once.
 */
export function multipleAtOnce(
  program: NetworkProgram,
  most: number,
  share?: (pool: Pool) => number,
  onBound?: (multiple: number) => void,
): number {
  const { pools, uses, columns, families } = program;
  const horizon = program.index.horizon;
  const widest = new Map<string, Map<string, number>>();
  pools.forEach(({ kind, site }, p) => {
    const bySite = widest.get(kind) ?? new Map<string, number>();
    widest.set(kind, bySite);
    const known = bySite.get(site);
    if (known === undefined || uses[p]!.length > uses[known]!.length) bySite.set(site, p);
  });
  let best = most;
  const need = new Float64Array(columns.length);
  const least = new Float64Array(families.length);
  for (const bySite of widest.values()) {
    const before = best;
    const chosen = [...bySite.values()];
    for (let from = 0; from < horizon; from += GRID_MINUTES) {
      for (let to = from + GRID_MINUTES; to <= horizon; to += GRID_MINUTES) {
        need.fill(0);
        let there = 0;
        for (const p of chosen) {
          there += offered(pools[p]!, { pool: p, from, to }) * (share?.(pools[p]!) ?? 1);
          for (const { column, use } of uses[p]!) need[column] = need[column]! + leastWithin(use, from, to);
        }
        least.fill(Number.POSITIVE_INFINITY);
        columns.forEach(({ family }, c) => {
          if (need[c]! < least[family]!) least[family] = need[c]!;
        });
        let grows = 0;
        families.forEach(({ pieces, growing }, f) => {
          if (least[f] === Number.POSITIVE_INFINITY) return;
          there -= (pieces - growing) * least[f]!;
          grows += growing * least[f]!;
        });
        if (grows > 0) best = Math.min(best, Math.max(0, there / grows) * ROUNDING);
      }
    }
    if (best < before) onBound?.(best);
  }
  return best;
}
