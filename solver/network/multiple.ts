import { priceBound } from "../bound/safe.js";
import type { Lp } from "../lp/choose.js";
import type { DayIndex } from "../problem/day-index.js";
import { multipleAtOnce } from "./at-once.js";
import { type EasedPool, easedPools } from "./eased.js";
import { grown } from "./grown.js";
import type { Cut, FlowPoint } from "./intervals.js";
import type { Pool } from "./pools.js";
import { NetworkProgram, type ProgramOptions } from "./program.js";

export type { EasedPool } from "./eased.js";

export interface MultipleOptions extends ProgramOptions {
  readonly lp: Lp;
  /** No multiple beyond this is asked for. */
  readonly most: number;
  /** How near (relative) the answer is brought to the least multiple that is disproved. */
  readonly precision?: number;
  /** How many of the things that hold the multiple down are eased one by one and asked again. */
  readonly eased?: number;
  /** Told each time that a lower multiple is disproved. */
  readonly onBound?: (multiple: number) => void;
  /** True ends the work; what is proved so far holds. */
  readonly shouldStop?: () => boolean;
  /** False: what is asked for first is still answered, but the answer is not narrowed further. */
  readonly mayNarrow?: () => boolean;
  /** Rows found for another day, by pool: they hold for any. */
  readonly known?: readonly KnownCut[];
  /** Rounds of adding rows to a question, at most. */
  readonly rounds?: number;
  /** What if a pool offered so many times as much? Then nothing is proved of the day as it is. */
  readonly share?: (pool: Pool) => number;
}

/** An interval of a pool that holds the multiple down. */
export interface Tight extends Cut {
  /** To rank by, never to show. */
  readonly price: number;
}

/** A row by the name of its pool. */
export interface KnownCut {
  readonly id: string;
  readonly from: number;
  readonly to: number;
}

export interface MultipleBound {
  /** No timetable of more than this multiple has every line in full and on time. `most` when nothing is disproved. */
  readonly multiple: number;
  /** What is a little less was asked about too, and not disproved. */
  readonly isNarrowed: boolean;
  /** Of the day as it is, no timetable has fewer pieces short or late. */
  readonly shortAtOne: number;
  readonly tight: readonly Tight[];
  readonly eased: readonly EasedPool[];
  readonly pools: readonly Pool[];
  readonly families: number;
  readonly columns: number;
  readonly cuts: number;
}

const ROUNDS = 30;
const SMALL_GAIN = 0.0005;
const IDLE_ROUNDS = 2;
const PRECISION = 0.005;
const LP_SECONDS = 60;
/** A shortage that the engine's arithmetic cannot make up, pieces. */
const LEAST_SHORTAGE = 1e-3;
/** Being short of lines that do not grow is worse than any multiple. */
const SHORTAGE_COST = 1000;
/** Where parts of containers allow more than this, whole ones do not rule out the day as it is: what rules it out is found on the way down too. */
const IN_DOUBT = 1.5;
/** The first step down from what the plain program allows, and the longest while it holds. */
const FIRST_STEP = 0.04;
const MOST_STEP = 0.08;
/** What is not disproved takes round after round: the rows found are kept for the next question, which is worth more. */
const IDLE_ROUNDS_ASKED = 4;

/** What is proved to be short, in whole pieces. */
export function wholePieces(shortage: number): number {
  return Math.max(0, Math.ceil(shortage - 1e-6));
}

/** Asks the network program what certainly cannot be. Rows that it has found are kept from question to question: they hold for all. */
export class Disprover {
  readonly program: NetworkProgram;
  tight: readonly Tight[] = [];
  /** Where the last question ended. */
  point: FlowPoint | null = null;
  private readonly options: Pick<MultipleOptions, "lp" | "grows" | "shouldStop" | "most" | "share" | "rounds">;

  constructor(index: DayIndex, options: Omit<MultipleOptions, "precision">) {
    this.program = new NetworkProgram(index, { ...options, tubs: "allowed" });
    this.options = options;
    const numbers = new Map(this.program.pools.map(({ id }, number) => [id, number]));
    this.program.cuts = (options.known ?? []).flatMap(({ id, from, to }) => {
      const pool = numbers.get(id);
      return pool === undefined || to > index.horizon ? [] : [{ pool, from, to }];
    });
  }

  /** Rows found so far, for another day. */
  get known(): KnownCut[] {
    return this.program.cuts.map(({ pool, from, to }) => ({ id: this.program.pools[pool]!.id, from, to }));
  }

  private get shares(): { share?: (pool: Pool) => number } {
    return this.options.share ? { share: this.options.share } : {};
  }

  /** By sums alone: more is disproved. */
  atOnce(onBound?: (multiple: number) => void): number {
    return multipleAtOnce(this.program, this.options.most, this.options.share, onBound);
  }

  /** The greatest multiple with parts of pans and tubs allowed: more is disproved. `known`: more than this is disproved already. */
  greatest(onBound?: (multiple: number) => void, known = this.options.most): number {
    const { lp, most, shouldStop } = this.options;
    let best = known;
    let idle = 0;
    for (let round = 0; round < ROUNDS && idle < IDLE_ROUNDS; round++) {
      const built = this.program.build({
        pieces: null,
        most,
        shortCost: () => SHORTAGE_COST,
        whole: "nothing",
        ...this.shares,
      });
      const result = lp(built.model, { seconds: LP_SECONDS });
      if (result.status !== "optimal" || !result.rowDuals) break;
      const proved = Math.max(0, Math.min(most, -priceBound(built.model, result.rowDuals)));
      idle = best - proved < SMALL_GAIN * Math.max(best, 1e-9) && round > 0 ? idle + 1 : 0;
      best = Math.min(best, proved);
      if (round > 0) onBound?.(best);
      this.remember(result.rowDuals, built.cutRow);
      this.point = built.read(result.columns);
      if (this.program.separate(this.point) === 0 || shouldStop?.()) break;
    }
    return best;
  }

  /** Pieces of each family at a multiple, growing lines rounded up line by line. */
  private piecesAt(multiple: number): number[] {
    const { grows } = this.options;
    return this.program.families.map(({ wants }) =>
      wants.reduce((sum, want) => sum + (!grows || grows(want) ? grown(want.pieces, multiple) : want.pieces), 0),
    );
  }

  /** At a multiple, so many pieces are short or late in every timetable. With `enough`, the first proof of that much will do; after `idle` rounds without any it is given up. */
  shortage(multiple: number, enough = Number.POSITIVE_INFINITY, idle: number = ROUNDS): number {
    const { lp, shouldStop } = this.options;
    const pieces = this.piecesAt(multiple);
    let proved = 0;
    for (let round = 0; round < (this.options.rounds ?? ROUNDS); round++) {
      const built = this.program.build({ pieces, shortCost: () => 1, whole: "all", ...this.shares });
      const result = lp(built.model, { seconds: LP_SECONDS });
      if (result.status !== "optimal" || !result.rowDuals) break;
      const now = priceBound(built.model, result.rowDuals);
      const gain = now - proved;
      proved = Math.max(proved, now);
      if (proved > LEAST_SHORTAGE) this.remember(result.rowDuals, built.cutRow);
      if (proved > enough || shouldStop?.() || (proved <= LEAST_SHORTAGE && round + 1 >= idle)) break;
      this.point = built.read(result.columns);
      if (this.program.separate(this.point) === 0 || (round > 3 && gain < 0.01 * proved)) break;
    }
    return proved > LEAST_SHORTAGE ? proved : 0;
  }

  private remember(prices: Float64Array, cutRow: number): void {
    this.tight = this.program.cuts
      .flatMap((cut, c) => {
        const price = Math.abs(prices[cutRow + c]!);
        return price > 1e-12 ? [{ ...cut, price }] : [];
      })
      .sort((a, b) => b.price - a.price);
  }
}

/**
 * The greatest multiple of the growing lines that may fit, proved from above. Every timetable that keeps the rules with all lines in full and on
 * time is a point of the network program: its pieces lie in the columns by family, way and slot, and take of each pool in each interval
 * at least what the rows say. First the multiple itself is made as great as can be; then multiples below it are disproved one by one with whole pans
 * and containers. What disproves one disproves all greater ones, for a timetable of more pieces is one of fewer with the rest declared
 * surplus. Every verdict is computed from row prices by weak duality.
 */
export function boundMultiple(index: DayIndex, options: MultipleOptions): MultipleBound {
  const { most, shouldStop, onBound } = options;
  const disprover = new Disprover(index, options);
  const first = disprover.atOnce(onBound);
  const loose = disprover.greatest(onBound, first);
  const eased = options.eased ? easedPools(disprover, options.lp, loose, most, options.eased) : [];
  let best = loose;
  let low = 0;
  const ask = (multiple: number, idle?: number): boolean => {
    const isDisproved = disprover.shortage(multiple, LEAST_SHORTAGE, idle) > 0;
    if (isDisproved) {
      best = multiple;
      onBound?.(best);
    } else low = multiple;
    return isDisproved;
  };
  // Does the day as it is fit? That is asked first where it is in doubt: it is what the planner wants to know.
  if (best > 1 && best < IN_DOUBT) ask(1);
  const precision = options.precision ?? PRECISION;
  let step = FIRST_STEP;
  const isNear = (): boolean => best - low <= precision * Math.max(1, best);
  while (!isNear() && !shouldStop?.() && options.mayNarrow?.() !== false) {
    if (ask(Math.max((low + best) / 2, best * (1 - step)), IDLE_ROUNDS_ASKED)) step = Math.min(2 * step, MOST_STEP);
  }
  const shortAtOne = best <= 1 && !shouldStop?.() ? wholePieces(disprover.shortage(1)) : 0;
  return {
    multiple: best,
    isNarrowed: isNear(),
    shortAtOne,
    tight: disprover.tight,
    eased,
    pools: disprover.program.pools,
    families: disprover.program.families.length,
    columns: disprover.program.columns.length,
    cuts: disprover.program.cuts.length,
  };
}
