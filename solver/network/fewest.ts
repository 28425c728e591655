import type { Lp } from "../lp/choose.js";
import type { DayIndex, Want } from "../problem/day-index.js";
import { type Balance, unsolved } from "./balance.js";
import { IN_COMMON_MINUTES } from "./in-common.js";
import type { Pool } from "./pools.js";
import { type Aim, type BuiltProgram, containerOf, NetworkProgram } from "./program.js";

export interface FewestOptions {
  readonly lp: Lp;
  readonly wants: readonly Want[];
  /** Of what stations and people offer, how much is planned on, */
  readonly share: number;
  /** and of shelves: what is left over is spread over the sites, for the last places can hardly be had in time. */
  readonly shelfShare: number;
  /** How long the integer program may take. */
  readonly wholeSeconds?: number;
  /** The program of the same day with other numbers of pieces: most of it is taken over. */
  readonly like?: NetworkProgram | undefined;
}

/** The cost of everything is counted in containers. */
const CONTAINER = 1;
/** One that rides cold stands at the first site too, when its shelves are fullest. */
const THROUGH = 0.1;
/** A piece that is not made is worse than any number of containers. */
const SHORT = 1000;
/** An amount-minute beyond the share: a deck's hour or two is worth a container. */
const OVERLOAD = 0.01;
/** Of a piece, and of one that rides: a van's load of them is worth less than a container, so that pieces ride for room only. */
const PIECE = 1e-5;
const RIDE = 1e-4;
const STEP_MINUTES = 60;
const GRID_MINUTES = 60;
const ROUNDS = 5;
const LP_SECONDS = 20;
/** An integer program that takes longer is given up: parts of containers are rounded up afterwards. */
const WHOLE_SECONDS = 4;
/** One that takes so many containers more than parts of them would is no use. */
const MOST_LOST = 6;
/** An answer that takes no more than this share of what any takes, and a container, will do. */
const NEAR = 0.003;

/** Pans and tubs are there or not; work leaves gaps. */
function shareOf({ kind }: Pool, { share, shelfShare }: FewestOptions): number {
  if (kind === "pans" || kind === "tubs") return 1;
  return kind === "fridge-positions" ? shelfShare : share;
}

/**
 * Flows that leave the most room in the fridges: on time, with as few containers as can be, each of them whole way by way (an integer program over
 * the rows that the linear one needed). Money does not count. It is what a day that hardly fits is made into loads by: where shelves are short, a tub
 * for the last three pieces at one site is a tub too many.
 */
export function fewestContainers(index: DayIndex, options: FewestOptions): Balance {
  const { lp, wants, like } = options;
  const program = new NetworkProgram(
    { ...index, wants },
    {
      stepMinutes: STEP_MINUTES,
      gridMinutes: GRID_MINUTES,
      lateMinutes: 0,
      inCommonMinutes: IN_COMMON_MINUTES,
      tubs: "sized",
      like,
    },
  );
  const pieces = program.families.map((family) => family.pieces);
  const aim = (areWhole: boolean): Aim => ({
    pieces,
    cost: (column) => (column.chain.way.trip ? RIDE : PIECE),
    shortCost: () => SHORT,
    whole: "fridge",
    share: (pool: Pool) => shareOf(pool, options),
    overloadCost: OVERLOAD,
    containers: { cost: (column) => CONTAINER + (column.chain.coldRide >= 0 ? THROUGH : 0), areWhole },
  });
  let balance = unsolved(program);
  const take = (built: BuiltProgram, columns: Float64Array, cost: number): void => {
    balance = {
      program,
      point: built.read(columns),
      short: Float64Array.from(built.short, (c) => (c < 0 ? 0 : columns[c]!)),
      cost,
      isSolved: true,
      isOverloaded: built.overload.some((c) => columns[c]! > 1),
    };
  };
  let least = 0;
  for (let round = 0; round < ROUNDS; round++) {
    const built = program.build(aim(false));
    const result = lp(built.model, { seconds: LP_SECONDS });
    if (result.status !== "optimal") break;
    take(built, result.columns, result.objective);
    least = result.objective;
    if (program.separate(balance.point) === 0) break;
  }
  if (!balance.isSolved || !program.columns.some((column) => containerOf(column))) return balance;
  const built = program.build(aim(true));
  const result = lp(built.model, {
    seconds: options.wholeSeconds ?? WHOLE_SECONDS,
    target: least * (1 + NEAR) + CONTAINER,
  });
  const whole = result.status === "optimal" ? result : result.status === "stopped" ? result.incumbent : undefined;
  // Cut short it may have hardly begun.
  if (whole && whole.objective < least + MOST_LOST * CONTAINER) take(built, whole.columns, whole.objective);
  return balance;
}
