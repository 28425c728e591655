import type { Dough, Fridge, StandingStep, TubType } from "../../schemas/index.js";
import { slabMiddles } from "./slab.js";
import { propertiesOf } from "./thermal.js";

/** The verifier's own yeast sums: fermentation along a tub's cooling (D10) and the length of a proof (D4). */

/** Growth of baker's yeast with cardinal temperatures 2.8, 32.3 and 45.4 C, written out (Rosso's model), not normed. */
function growth(tempC: number): number {
  if (tempC <= 2.8 || tempC >= 45.4) return 0;
  const below = tempC - 2.8;
  return (below * below * (tempC - 45.4)) / (29.5 * (29.5 * (tempC - 32.3) + 13.1 * (35.1 - 2 * tempC)));
}

function rate(ferment: NonNullable<Dough["ferment"]>, tempC: number): number {
  return ferment.model === "growth"
    ? growth(tempC) / growth(ferment.atTempC)
    : Math.exp((Math.log(ferment.q10 ?? 2) * (tempC - ferment.atTempC)) / 10);
}

/** Hours at ferment.atTempC that a tub's middle has fermented after so many minutes in a fridge; Simpson's rule on finite differences. */
export function fermentedHours(
  dough: Dough,
  tubType: TubType,
  fridge: Fridge,
  doughG: number,
  minutes: number,
): number {
  const { ferment } = dough;
  if (!ferment || minutes <= 0) return 0;
  const { densityKgPerM3, cpKjPerKgK, conductivityWPerMK: k } = propertiesOf(dough);
  const alpha = k / (densityKgPerM3 * cpKjPerKgK * 1000);
  const width = tubType.innerWidthMm / 1000;
  const depth = tubType.innerDepthMm / 1000;
  const height = doughG / 1000 / densityKgPerM3 / (width * depth);
  const curves = [width, depth, height].map((side) =>
    slabMiddles(side / 2, alpha, k, fridge.filmWPerM2K, minutes * 60),
  );
  const n = curves[0]!.length - 1;
  const rates = Array.from({ length: n + 1 }, (_, i) => {
    const share = curves.reduce((product, curve) => product * curve[i]!, 1);
    return rate(ferment, fridge.airTempC + (dough.doughTempC - fridge.airTempC) * share);
  });
  let sum = 0;
  for (let i = 0; i + 1 < n; i += 2) sum += rates[i]! + 4 * rates[i + 1]! + rates[i + 2]!;
  return ((sum / 3) * (minutes / 60)) / n;
}

const proofs = new Map<string, number>();
const MOST_PROOFS = 10_000;

/** Least minutes of a proof at a site in a proofer; the dough warms from the room to the proofer with a time constant of 20 min. */
export function leastProof(step: StandingStep, roomTempC: number, prooferTempC: number): number {
  const { typicalMinutes, atTempC, leastMinutes, greatestMinutes, q10 } = step;
  const key = `${typicalMinutes} ${atTempC} ${q10} ${leastMinutes} ${greatestMinutes} ${roomTempC} ${prooferTempC}`;
  let least = proofs.get(key);
  if (least === undefined) {
    if (proofs.size >= MOST_PROOFS) proofs.clear();
    least = workOutProof(step, roomTempC, prooferTempC);
    proofs.set(key, least);
  }
  return least;
}

function workOutProof(step: StandingStep, roomTempC: number, prooferTempC: number): number {
  const { typicalMinutes, atTempC, leastMinutes, greatestMinutes } = step;
  if (typicalMinutes === undefined || atTempC === undefined) return leastMinutes;
  const perC = Math.log(step.q10 ?? 2) / 10;
  const dt = 0.02;
  let done = 0;
  let minute = 0;
  while (done < typicalMinutes && minute < greatestMinutes) {
    const middle = minute + dt / 2;
    const tempC = prooferTempC - (prooferTempC - roomTempC) * Math.exp(-middle / 20);
    done += dt * Math.exp(perC * (tempC - atTempC));
    minute += dt;
  }
  return Math.min(greatestMinutes, Math.max(leastMinutes, minute));
}
