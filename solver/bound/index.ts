import type { Lp } from "../lp/choose.js";
import type { LpModel } from "../lp/model.js";
import type { Problem } from "../problem/index.js";
import { lowestCosts } from "../problem/lowest.js";
import { MILLS } from "../problem/site-rows.js";
import type { SearchModel } from "../search/model.js";
import { groupLoads } from "./groups.js";
import { leastAlone } from "./least-alone.js";
import { Relaxation, type RelaxationOptions } from "./relaxation.js";
import { priceBound } from "./safe.js";
import type { WholeRunsRow } from "./whole-runs.js";

export interface BoundOptions extends RelaxationOptions {
  readonly lp: Lp;
  readonly seconds: number;
  /** How often rows are added that the last point breaks. Default 0: never. */
  readonly rounds?: number;
}

/** Rows up to which the simplex method is a second try. */
const SMALL = 4000;
/** Rows added for each group of loads in a round. */
const PER_GROUP = 3;
/** Of a round, as a share of the bound: below it the next step length is worth more. */
const LEAST_GAIN = 0.002;

/** What a linear program proves, and the point that was found; null when the time did not suffice. */
function solve(program: LpModel, lp: Lp, seconds: number): { bound: number; point: Float64Array } | null {
  const linear = { ...program, integer: new Uint8Array(program.columnCount) };
  let result = lp(linear, { seconds, interiorPoint: true });
  // Without crossover the interior point's answer is now and then too rough to be taken; a basis is not.
  if (result.status === "stopped" && linear.rowCount <= SMALL) result = lp(linear, { seconds });
  if (result.status !== "optimal" || !result.rowDuals) return null;
  return { bound: priceBound(linear, result.rowDuals), point: result.columns };
}

/**
 * Bounds by one relaxation, round by round, each with rows that the last point breaks, until hardly anything is gained. `secondsLeft` limits each
 * program, and at 0 there is no further one. Bounds are those of the plans that cost less than `known`; others cost `known` at least.
 */
function* roundsOf(
  model: SearchModel,
  how: RelaxationOptions,
  { lp, secondsLeft, rounds }: { lp: Lp; secondsLeft: () => number; rounds: number },
): Generator<number, readonly WholeRunsRow[]> {
  const relaxation = new Relaxation(model, how);
  const known = how.known ?? Number.POSITIVE_INFINITY;
  let last = 0;
  for (let round = 0; round <= rounds && secondsLeft() > 0; round++) {
    const found = solve(relaxation.program, lp, secondsLeft());
    if (!found) break;
    yield Math.min(known, Math.max(0, found.bound));
    if (round > 0 && found.bound - last < LEAST_GAIN * found.bound) break;
    last = found.bound;
    if (relaxation.cut(found.point, PER_GROUP) === 0) break;
  }
  return relaxation.rows;
}

/** No plan of the model costs less than this; null when the time did not suffice. In the model's cost unit. */
export function lowerBound(model: SearchModel, { lp, seconds, rounds = 0, ...how }: BoundOptions): number | null {
  if (model.loads.length === 0) return 0;
  let best: number | null = null;
  for (const bound of roundsOf(model, how, { lp, secondsLeft: () => seconds, rounds }))
    best = Math.max(best ?? 0, bound);
  return best;
}

/** Steps of the linear programs, minutes: each is some times larger than the one before. */
const STEPS = [120, 60, 30, 15, 10, 5, 3];
const MOST_ROUNDS = 20;
/** Of one program. */
const MOST_SECONDS = 600;
/** Starts of loads in a program that takes a few seconds at most. */
const QUICK_STARTS = 2500;
/** Its least step: few loads have few starts, but what else there is grows with the steps too, and by then hardly anything is gained. */
const QUICK_STEP = 10;

/** The least step (of those worth it) with which loads may start in so many steps, all together, or the greatest. */
function stepFor(model: SearchModel, starts: number): number {
  let minutes = 0;
  for (const { ways } of groupLoads(model)) for (const { window } of ways) minutes += window.to - window.from + 1;
  return STEPS.findLast((step) => step >= QUICK_STEP && minutes / step <= starts) ?? STEPS[0]!;
}

export interface ImproveOptions extends Partial<RelaxationOptions> {
  readonly lp: Lp;
  /** Asked before each program; default: always plenty. */
  readonly secondsLeft?: () => number;
}

/** Bounds of a model, each better than the one before: programs with steps of `stepMinutes` (default: by size), in rounds, then with shorter steps. */
export function* improvingBounds(model: SearchModel, options: ImproveOptions): Generator<number> {
  const { lp, secondsLeft = () => MOST_SECONDS, stepMinutes = stepFor(model, QUICK_STARTS), known } = options;
  let best = leastAlone(model);
  yield best;
  let rows: readonly WholeRunsRow[] = [];
  for (const step of [stepMinutes, ...STEPS.filter((shorter) => shorter < stepMinutes)]) {
    const how = { stepMinutes: step, rows, ...(known === undefined ? {} : { known }) };
    const found = roundsOf(model, how, { lp, secondsLeft, rounds: MOST_ROUNDS });
    let next = found.next();
    for (; !next.done; next = found.next()) {
      if (next.value <= best) continue;
      best = next.value;
      yield best;
    }
    rows = next.value;
  }
}

/** Bounds of a problem (currency), each proven and better than the one before: what every load costs by itself at once, then by linear programs. */
export function* bounds(problem: Problem, lp: Lp): Generator<number> {
  const { model, constant } = lowestCosts(problem);
  for (const bound of improvingBounds(model, { lp })) yield Math.max(0, bound / MILLS + constant);
}

/** What the loads cost by themselves (currency): a bound at once. */
export function cheapBound(problem: Problem): number {
  const { model, constant } = lowestCosts(problem);
  return Math.max(0, leastAlone(model) / MILLS + constant);
}

/** The bound of a drawing that must come out the same every time: by one linear program of a size that depends on the day only. */
export function quickBound(problem: Problem, lp: Lp): number {
  const { model, constant } = lowestCosts(problem);
  const found = lowerBound(model, { lp, seconds: MOST_SECONDS, stepMinutes: stepFor(model, QUICK_STARTS) });
  return Math.max(0, Math.max(leastAlone(model), found ?? 0) / MILLS + constant);
}
