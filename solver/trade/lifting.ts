import type { Lifting } from "../../schemas/index.js";

/**
 * Recommended weight limit for lifting by hand: the revised NIOSH equation (publication 94-110), RWL = 23 kg x HM x VM x DM x AM x
 * FM x CM. Lengths in cm. The frequency factor is read from the publication's table by the user.
 */
const LOAD_KG = 23;
const MOST_HORIZONTAL = 63;
const MOST_VERTICAL = 175;
const MOST_TRAVEL = 175;
const MOST_TWIST = 135;
const LEAST = 25;
/** Waist height, where lifting is easiest. */
const BEST_VERTICAL = 75;

export function weightLimitKg({
  horizontalCm = 40,
  verticalCm = 30,
  travelCm = 70,
  twistDegrees = 0,
  frequencyFactor = 1,
  grip = "fair",
}: Lifting): number {
  if (horizontalCm > MOST_HORIZONTAL || verticalCm > MOST_VERTICAL) return 0;
  if (travelCm > MOST_TRAVEL || twistDegrees > MOST_TWIST) return 0;
  const near = LEAST / Math.max(LEAST, horizontalCm);
  const height = 1 - 0.003 * Math.abs(verticalCm - BEST_VERTICAL);
  const travel = 0.82 + 4.5 / Math.max(LEAST, travelCm);
  const twist = 1 - 0.0032 * twistDegrees;
  const hold = grip === "poor" ? 0.9 : grip === "fair" && verticalCm < BEST_VERTICAL ? 0.95 : 1;
  return LOAD_KG * near * height * travel * twist * frequencyFactor * hold;
}

/** Load over limit: above 1 some people are overloaded, above 3 most. */
export function liftingIndex(massKg: number, limitKg: number): number {
  return limitKg === 0 ? Number.POSITIVE_INFINITY : massKg / limitKg;
}
