import type { Lp } from "../lp/choose.js";
import type { LpModel } from "../lp/model.js";
import type { Problem } from "../problem/index.js";
import { lowestCosts } from "../problem/lowest.js";
import { MILLS } from "../problem/site-rows.js";
import type { SearchModel } from "../search/model.js";
import { groupLoads } from "./groups.js";
import { leastAlone } from "./least-alone.js";
import { type RelaxationOptions, relax } from "./relaxation.js";
import { priceBound } from "./safe.js";

export interface BoundOptions extends RelaxationOptions {
  readonly lp: Lp;
  readonly seconds: number;
}

/** Rows up to which the simplex method is a second try. */
const SMALL = 4000;

/** No plan of the model costs less than this; null when the time did not suffice. In the model's cost unit. */
export function lowerBound(model: SearchModel, { lp, seconds, ...how }: BoundOptions): number | null {
  if (model.loads.length === 0) return 0;
  const relaxed = linear(relax(model, how));
  let result = lp(relaxed, { seconds, interiorPoint: true });
  // Without crossover the interior point's answer is now and then too rough to be taken; a basis is not.
  if (result.status === "stopped" && relaxed.rowCount <= SMALL) result = lp(relaxed, { seconds });
  if (result.status !== "optimal" || !result.rowDuals) return null;
  return Math.max(0, priceBound(relaxed, result.rowDuals));
}

/** The program without its whole numbers. */
function linear(model: LpModel): LpModel {
  return { ...model, integer: new Uint8Array(model.columnCount) };
}

/** Steps of the linear programs, minutes: each is some times larger than the one before. */
const STEPS = [60, 30, 15, 10, 5];
/** Of one program. */
const MOST_SECONDS = 600;
/** Starts of loads in a program that takes about as long as posing the day does. */
const QUICK_STARTS = 3000;

/** The least step with which loads may start in so many steps, all together, or the greatest. */
function stepFor(model: SearchModel, starts: number): number {
  let minutes = 0;
  for (const { ways } of groupLoads(model)) for (const { window } of ways) minutes += window.to - window.from + 1;
  return STEPS.findLast((step) => minutes / step <= starts) ?? STEPS[0]!;
}

/**
 * Bounds of a problem (currency), each proven, better and better: what every load costs by itself at once, then linear programs of
 * shorter and shorter steps.
 */
export function* bounds(problem: Problem, lp: Lp): Generator<number> {
  const { model, constant } = lowestCosts(problem);
  const inCurrency = (mills: number): number => Math.max(0, mills / MILLS + constant);
  let best = leastAlone(model);
  yield inCurrency(best);
  const first = STEPS.indexOf(stepFor(model, QUICK_STARTS));
  for (const stepMinutes of STEPS.slice(first)) {
    const found = lowerBound(model, { lp, seconds: MOST_SECONDS, stepMinutes });
    if (found === null || found <= best) continue;
    best = found;
    yield inCurrency(best);
  }
}

/** The bound of a drawing that must come out the same every time: by one linear program of a size that depends on the day only. */
export function quickBound(problem: Problem, lp: Lp): number {
  const { model, constant } = lowestCosts(problem);
  const found = lowerBound(model, { lp, seconds: MOST_SECONDS, stepMinutes: stepFor(model, QUICK_STARTS) });
  return Math.max(0, Math.max(leastAlone(model), found ?? 0) / MILLS + constant);
}
