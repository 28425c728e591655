import type { Lp } from "../lp/choose.js";
import type { DayIndex, Want } from "../problem/day-index.js";
import { MILLS } from "../problem/site-rows.js";
import type { FlowColumn } from "./columns.js";
import type { Family } from "./families.js";
import type { FlowPoint } from "./intervals.js";
import type { Pool } from "./pools.js";
import { type Aim, type FlowLimit, NetworkProgram } from "./program.js";

export interface BalanceOptions {
  /** Asked before each program; true leaves it at the flows found so far, if any. */
  readonly shouldStop?: () => boolean;
  readonly lp: Lp;
  readonly seconds?: number;
  /** Lines to plan; default all of the day. */
  readonly wants?: readonly Want[];
  /** Of a pool, how much is planned on; learnt from timetables that could not follow. Default: the usual share. */
  readonly share?: (pool: Pool) => number | undefined;
  readonly limits?: readonly FlowLimit[];
  /** Added to the cost of a piece, thousandths. */
  readonly wishCost?: (column: FlowColumn, family: Family) => number;
  readonly stepMinutes?: number;
  /** Being late is not looked at, whatever is wanting: only whether everything can be on time is of interest. */
  readonly onTimeOnly?: boolean;
  /** The program of the same day with other numbers of pieces, for the same steps: most of it is taken over. */
  readonly like?: NetworkProgram | undefined;
}

/** Who makes what, before any timetable: flows that keep every capacity hour by hour. */
export interface Balance {
  readonly program: NetworkProgram;
  readonly point: FlowPoint;
  /** Pieces not made, by family. */
  readonly short: Float64Array;
  /** Of the linear program, in the currency: short, late, early, rides, deck energy, overload. */
  readonly cost: number;
  readonly isSolved: boolean;
  /** Something is used beyond its share, for want of a better way. */
  readonly isOverloaded: boolean;
}

/** Stations are never used to the last minute: part loads, waits, changes of temperature. Places are. */
const USUAL_SHARE: Partial<Record<Pool["kind"], number>> = {
  mixer: 0.8,
  bench: 0.85,
  crew: 0.85,
  kettle: 0.8,
  "deck-positions": 0.75,
  "fridge-positions": 0.97,
};
/** What an amount-minute beyond the room costs, thousandths: more than any detour, less than a short pan. */
const OVERLOAD_COST = 60;
const LATE_MINUTES = 300;
const LEAST_SHORTAGE = 0.5;
const SMALL_GAIN = 0.002;
const STEP_MINUTES = 60;
const LONG_STEP_MINUTES = 120;
const GRID_MINUTES = 60;
const ROUNDS = 6;
const LP_SECONDS = 20;
/** When there are many lines, families whose windows differ by less are one, and slots are longer. */
const TOGETHER_MINUTES = 15;
const MANY_LINES = 150;

/** Cost of a piece made so, thousandths: being late, early, riding, half of a deck kept on for it. */
export function pieceCost(index: DayIndex, family: Family, column: FlowColumn): number {
  const { weights } = index;
  const { chain, windows } = column;
  const { trip, handOver } = chain.way;
  const last = chain.links.length - 1;
  const delivered = handOver === "baked" ? trip!.delivered : windows.endFrom[last]!;
  const priority = Math.max(...family.wants.map((want) => want.priority));
  let cost = (Math.max(0, delivered - family.due) / 60) * priority * weights.latePerPieceHour;
  cost += (Math.max(0, family.due - windows.endTo[last]! - weights.freshForMinutes) / 60) * weights.earlyPerPieceHour;
  if (trip && chain.ride) {
    const rate = chain.ride.per === "pan" ? chain.panRate : chain.tubRate;
    cost += (trip.run.cost * chain.ride.positions * rate) / trip.run.positions;
  }
  const site = index.sites.get(chain.links[chain.bake]!.site)!;
  const powerKw = site.ovens[0]?.decks[0]?.powerKw ?? 0;
  const positions = 4;
  cost +=
    ((powerKw * (site.energyPricePerKwh ?? 0) * chain.links[chain.bake]!.least) / 60) * (chain.panRate / positions);
  return cost * MILLS;
}

/**
 * Decides which site makes what and what rides where: the cheapest flows, intervals added until none is broken. Being late is looked at only when
 * not everything can be on time.
 */
export function balanceFlows(index: DayIndex, options: BalanceOptions): Balance {
  const onTime = flows(index, options, 0, []);
  if (options.onTimeOnly || options.shouldStop?.() || (onTime.isSolved && !lacks(onTime))) return onTime;
  const { cuts, pools } = onTime.program;
  return flows(
    index,
    options,
    LATE_MINUTES,
    cuts.map(({ pool, from, to }) => ({ id: pools[pool]!.id, from, to })),
  );
}

function lacks(balance: Balance): boolean {
  return balance.isOverloaded || balance.short.some((pieces) => pieces > LEAST_SHORTAGE);
}

/** Before any program is solved: nothing is made. */
export function unsolved(program: NetworkProgram): Balance {
  const nothing = new Float64Array(program.columns.length);
  return {
    program,
    point: { pieces: nothing, spare: { pan: nothing, tub: nothing } },
    short: Float64Array.from(program.families, (family) => family.pieces),
    cost: 0,
    isSolved: false,
    isOverloaded: false,
  };
}

function flows(
  index: DayIndex,
  options: BalanceOptions,
  lateMinutes: number,
  known: readonly { readonly id: string; readonly from: number; readonly to: number }[],
): Balance {
  const wants = options.wants ?? index.wants;
  const program = new NetworkProgram(
    { ...index, wants },
    {
      stepMinutes: options.stepMinutes ?? (wants.length > MANY_LINES ? LONG_STEP_MINUTES : STEP_MINUTES),
      gridMinutes: GRID_MINUTES,
      lateMinutes,
      togetherMinutes: wants.length > MANY_LINES ? TOGETHER_MINUTES : 0,
      // Counted apart where they share no load, lines of the demo's ordinary day were drawn 3 to 6 % dearer (two seeds).
      inCommonMinutes: Number.NEGATIVE_INFINITY,
      like: lateMinutes === 0 ? options.like : undefined,
    },
  );
  for (const { id, from, to } of known) {
    const pool = program.pools.findIndex((candidate) => candidate.id === id);
    if (pool >= 0) program.cuts.push({ pool, from, to });
  }
  const pieces = program.families.map((family) => family.pieces);
  const aim: Aim = {
    pieces,
    cost: (column) => {
      const family = program.families[column.family]!;
      return pieceCost(index, family, column) + (options.wishCost?.(column, family) ?? 0);
    },
    shortCost: (family) => Math.max(...family.wants.map((want) => want.priority)) * index.weights.shortPerPiece * MILLS,
    whole: "fridge",
    share: (pool) => options.share?.(pool) ?? USUAL_SHARE[pool.kind] ?? 1,
    overloadCost: OVERLOAD_COST,
    limits: options.limits ?? [],
  };
  let balance = unsolved(program);
  for (let round = 0; round < ROUNDS && !options.shouldStop?.(); round++) {
    const built = program.build(aim);
    const result = options.lp(built.model, { seconds: options.seconds ?? LP_SECONDS });
    if (result.status !== "optimal") break;
    const point = built.read(result.columns);
    const short = Float64Array.from(built.short, (c) => (c < 0 ? 0 : result.columns[c]!));
    const isOverloaded = built.overload.some((c) => result.columns[c]! > 1);
    const cost = result.objective / MILLS;
    const gain = balance.isSolved ? cost - balance.cost : Number.POSITIVE_INFINITY;
    balance = { program, point, short, cost, isSolved: true, isOverloaded };
    // More rows only cost more: what lacks already will lack, and a round that changed little is the last.
    if ((lateMinutes === 0 && !options.onTimeOnly && lacks(balance)) || gain < SMALL_GAIN * Math.abs(cost)) break;
    if (program.separate(point) === 0) break;
  }
  return balance;
}

/** Pieces of each line, by the site that mixes them. */
export function piecesByMixSite(balance: Balance): Map<string, number>[] {
  const { program, point } = balance;
  const shares = program.families.map(() => new Map<string, number>());
  program.columns.forEach(({ family, chain }, c) => {
    const pieces = point.pieces[c]!;
    if (pieces < 1e-6) return;
    const { mixSite } = chain.way;
    shares[family]!.set(mixSite, (shares[family]!.get(mixSite) ?? 0) + pieces);
  });
  return shares;
}
