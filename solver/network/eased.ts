import type { Lp } from "../lp/choose.js";
import { rateOf } from "./intervals.js";
import type { Disprover, Tight } from "./multiple.js";
import { leastWithin } from "./needs.js";
import type { Pool } from "./pools.js";

/** Something that holds the multiple down, and what a tenth more of it would change. */
export interface EasedPool {
  readonly pool: Pool;
  /** While it is all but used up, minutes of the window. */
  readonly from: number;
  readonly to: number;
  /** The greatest multiple by the plain program, as things are and with a tenth more: solved again, not read off a price. */
  readonly before: number;
  readonly easedTo: number;
}

const MORE = 1.1;
/** As full as this counts as used up. */
const FULL = 0.97;
const STEP_MINUTES = 30;
const ROUNDS = 3;

/** The kinds of thing, by site, that hold the multiple down, the most telling first. */
export function easedPools(disprover: Disprover, lp: Lp, before: number, most: number, count: number): EasedPool[] {
  const { program, tight, point } = disprover;
  if (!point || before >= most) return [];
  const groups = new Map<string, { tight: Tight; weight: number }>();
  for (const own of tight) {
    const pool = program.pools[own.pool]!;
    const weight = own.price * (pool.sums[own.to]! - pool.sums[own.from]!);
    const key = `${pool.kind} ${pool.site}`;
    const known = groups.get(key);
    if (!known) groups.set(key, { tight: own, weight });
    else groups.set(key, { tight: weight > known.weight ? own : known.tight, weight: known.weight + weight });
  }
  const chosen = [...groups.values()].sort((a, b) => b.weight - a.weight).slice(0, count);
  const cuts = [...program.cuts];
  return chosen.map(({ tight: own }) => {
    const pool = program.pools[own.pool]!;
    const [from, to] = fullAround(disprover, own);
    const easedTo = greatestWith(disprover, lp, most, pool);
    program.cuts = cuts;
    return { pool, from, to, before, easedTo };
  });
}

/** The greatest multiple by the plain program when there is more of everything of the pool's kind at its site. */
function greatestWith({ program }: Disprover, lp: Lp, most: number, eased: Pool): number {
  let greatest = most;
  for (let round = 0; round < ROUNDS; round++) {
    const built = program.build({
      pieces: null,
      most,
      shortCost: () => 1000,
      whole: "nothing",
      share: (pool) => (pool.kind === eased.kind && pool.site === eased.site ? MORE : 1),
    });
    const result = lp(built.model, { seconds: 20 });
    if (result.status !== "optimal") break;
    greatest = Math.min(greatest, -result.objective);
    if (program.separate(built.read(result.columns)) === 0) break;
  }
  return greatest;
}

/** The time around an interval in which what is there is all but used up at the point. */
function fullAround({ program, point }: Disprover, own: Tight): [number, number] {
  const pool = program.pools[own.pool]!;
  const horizon = pool.line.length;
  const taken = (from: number, to: number): number => {
    let sum = 0;
    program.columns.forEach(({ uses, chain }, c) => {
      for (const use of uses) {
        if (use.pool !== own.pool) continue;
        const spare = use.per === "piece" ? 0 : point!.spare[use.per][c]! / rateOf(chain, use.per);
        const pieces = point!.pieces[c]! + spare;
        if (pieces > 1e-7) sum += leastWithin(use, from, to) * pieces;
      }
    });
    return sum;
  };
  const isFull = (from: number, to: number): boolean => {
    const there = pool.sums[Math.min(horizon, to)]! - pool.sums[Math.max(0, from)]!;
    return there > 0 && taken(from, to) >= FULL * there;
  };
  let { from, to } = own;
  while (from - STEP_MINUTES >= 0 && isFull(from - STEP_MINUTES, from)) from -= STEP_MINUTES;
  while (to + STEP_MINUTES <= horizon && isFull(to, to + STEP_MINUTES)) to += STEP_MINUTES;
  return [from, to];
}
