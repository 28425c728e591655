/**
 * How fast yeast works at a temperature, by two models. Gassing goes on near and below the least temperature of growth, where the
 * growth model says nothing happens; Q10 is the safer budget in the cold, growth shows the trend in the warm.
 */

/** Growth temperatures of baker's yeast, C. Topt and Tmax: Salvado 2011; Tmin: middle of the genus' range in the same paper. */
export const YEAST_MIN_C = 2.8;
export const YEAST_BEST_C = 32.3;
export const YEAST_MAX_C = 45.4;
const DEFAULT_Q10 = 2;

/** Rate relative to that at refC. Literature 1.5-3 (memory); trade rule "halves for 17 F" is 2.1. Valid below about 35 C. */
export function q10Rate(tempC: number, refC: number, q10 = DEFAULT_Q10): number {
  return q10 ** ((tempC - refC) / 10);
}

/** Cardinal temperature model with inflection (Rosso 1993, from memory): growth rate as a share of the best; 0 outside. */
export function growthRate(tempC: number): number {
  const low = YEAST_MIN_C;
  const best = YEAST_BEST_C;
  const high = YEAST_MAX_C;
  if (tempC <= low || tempC >= high) return 0;
  const top = (tempC - high) * (tempC - low) ** 2;
  return top / ((best - low) * ((best - low) * (tempC - best) - (best - high) * (best + low - 2 * tempC)));
}

/** Square-root model (Ratkowsky), relative to refC; only well below the best temperature. */
export function squareRootRate(tempC: number, refC: number): number {
  return (Math.max(0, tempC - YEAST_MIN_C) / (refC - YEAST_MIN_C)) ** 2;
}

export interface YeastModel {
  readonly model: "q10" | "growth";
  readonly atTempC: number;
  readonly q10?: number;
}

/** Rate at a temperature relative to the model's reference. */
export function relativeRate(yeast: YeastModel, tempC: number): number {
  if (yeast.model === "growth") return growthRate(tempC) / growthRate(yeast.atTempC);
  return q10Rate(tempC, yeast.atTempC, yeast.q10 ?? DEFAULT_Q10);
}

/** Hours at the reference temperature that do as much as `hours` along a temperature curve; trapezium rule. */
export function equivalentHours(
  yeast: YeastModel,
  tempAtHour: (hour: number) => number,
  hours: number,
  steps = 400,
): number {
  let sum = 0;
  for (let i = 0; i <= steps; i++) {
    const weight = i === 0 || i === steps ? 0.5 : 1;
    sum += weight * relativeRate(yeast, tempAtHour((hours * i) / steps));
  }
  return (sum * hours) / steps;
}
