import type { Dough, Fridge, TubType } from "../../schemas/index.js";
import { blockCurve, tubBlock } from "./cooling.js";
import { materialOf } from "./thermal.js";
import { relativeRate } from "./yeast.js";

/** Minutes between the points of the cooling curve; quarter of an hour is fine beside time constants of hours. */
const STEP_MINUTES = 15;
/** Of the allowed fermentation so much is used, so that another way of computing agrees. */
const SHARE = 0.995;
/** Nobody retards longer than a week. */
const MOST_MINUTES = 7 * 24 * 60;

/**
 * The longest that a tub may stay in a fridge, minutes, until its middle has fermented `ferment.greatestHours` (D10): yeast activity summed
 * along the cooling curve of the tub's middle. Heat of the yeast itself is left out, so real tubs are a little sooner.
 * Infinity when the dough has no such limit.
 */
export function greatestRetardMinutes(dough: Dough, tubType: TubType, fridge: Fridge, doughG: number): number {
  const { ferment } = dough;
  if (!ferment) return Number.POSITIVE_INFINITY;
  const material = materialOf(dough);
  const block = tubBlock(tubType, material, doughG);
  const curve = blockCurve(block, material, fridge.filmWPerM2K);
  const rateAt = (minute: number): number => {
    const share = curve(minute * 60);
    return relativeRate(ferment, fridge.airTempC + (dough.doughTempC - fridge.airTempC) * share);
  };
  const most = ferment.greatestHours * 60 * SHARE;
  let done = 0;
  let before = relativeRate(ferment, dough.doughTempC);
  for (let minute = STEP_MINUTES; minute <= MOST_MINUTES; minute += STEP_MINUTES) {
    const rate = rateAt(minute);
    const more = ((before + rate) / 2) * STEP_MINUTES;
    if (done + more > most) return Math.floor(minute - STEP_MINUTES + ((most - done) / more) * STEP_MINUTES);
    done += more;
    before = rate;
  }
  return MOST_MINUTES;
}

/** The greatest tub, g, that may stay at least so many minutes; 0 when not even the smallest may. */
export function greatestTubForStayG(
  dough: Dough,
  tubType: TubType,
  fridge: Fridge,
  minutes: number,
  mostG: number,
): number {
  const bears = (massG: number): boolean => greatestRetardMinutes(dough, tubType, fridge, massG) >= minutes;
  if (bears(mostG)) return mostG;
  let low = 0;
  let high = mostG;
  while (high - low > 20) {
    const middle = Math.floor((low + high) / 2);
    if (middle > 0 && bears(middle)) low = middle;
    else high = middle;
  }
  return low;
}
