/**
 * The liquid's temperature that brings a dough to its temperature, and the ice in it.
 * Two ways: the factor method of the trade and a heat balance. Check values with their sources: test/unit/trade/facts-dough.test.ts.
 */

/** kJ/(kg K) at 20 C. */
export const CP_WATER = 4.186;
/** Ice (Earle, Unit Operations in Food Processing, appendix 7: food below freezing has 2.1 for each share of water). */
const CP_ICE = 2.1;
/** Heat of melting, kJ/kg. */
const ICE_MELT = 334;
/** Below this liquid water cannot be; ice melts in the bowl. */
const FREEZING_C = 0;
/** Yeast is destroyed at 60 C (trade textbook); water hotter than this is refused well before. */
export const TOO_HOT_C = 50;

/**
 * Factor method: n x dough temperature - the sum of the other temperatures - friction factor, n the number of temperatures that
 * count with the liquid (flour, room, liquid, and a pre-ferment if any). All in the same scale; the factor is a difference.
 * Valid where the factor was measured on the same mixer, dough and batch size.
 */
export function waterTempByFactor({
  doughTemp,
  others,
  frictionFactor,
}: {
  doughTemp: number;
  /** Flour, room, and a pre-ferment if any. */
  others: readonly number[];
  frictionFactor: number;
}): number {
  return (others.length + 1) * doughTemp - others.reduce((sum, temp) => sum + temp, 0) - frictionFactor;
}

/** The friction factor that a mix had, from what was measured. Same scale rules as above. */
export function frictionFactorOf({
  doughTemp,
  others,
  water,
}: {
  doughTemp: number;
  others: readonly number[];
  water: number;
}): number {
  return (others.length + 1) * doughTemp - others.reduce((sum, temp) => sum + temp, 0) - water;
}

/** What goes into the bowl with the liquid. */
export interface BowlPart {
  readonly massKg: number;
  readonly cpKjPerKgK: number;
  readonly tempC: number;
  /** 0..1: melts when it goes in below freezing. */
  readonly waterShare?: number;
}

/** Heat that brings a part to a temperature above freezing, kJ; negative when it is warmer. Frozen water in it warms as ice, melts, and warms as water. */
export function heatToReach({ massKg, cpKjPerKgK, tempC, waterShare = 0 }: BowlPart, toTempC: number): number {
  if (tempC >= FREEZING_C || waterShare === 0) return massKg * cpKjPerKgK * (toTempC - tempC);
  const cpFrozen = Math.max(0, cpKjPerKgK - waterShare * (CP_WATER - CP_ICE));
  return massKg * (cpFrozen * (FREEZING_C - tempC) + waterShare * ICE_MELT + cpKjPerKgK * (toTempC - FREEZING_C));
}

/**
 * Heat balance over all that is in the bowl: the liquid's temperature, C, at which the mixer's work (as a rise of the dough) and the liquid
 * together bring every part to the dough's temperature. Leaves out what the bowl and the room give and take.
 */
export function liquidTempByHeat({
  doughTempC,
  riseC,
  parts,
  liquidKg,
  liquidCpKjPerKgK = CP_WATER,
}: {
  doughTempC: number;
  riseC: number;
  parts: readonly BowlPart[];
  liquidKg: number;
  liquidCpKjPerKgK?: number;
}): number {
  const liquid = liquidKg * liquidCpKjPerKgK;
  const heatCapacity = parts.reduce((sum, { massKg, cpKjPerKgK }) => sum + massKg * cpKjPerKgK, liquid);
  const wanted = parts.reduce((sum, part) => sum + heatToReach(part, doughTempC), 0);
  return doughTempC + (wanted - riseC * heatCapacity) / liquid;
}

/** The factor method counts flour, room and liquid alike: where all three are equally warm, the dough rises by a third of the factor. */
export function riseOfFactor(frictionFactor: number): number {
  return frictionFactor / 3;
}

/** Ice in place of part of the water, so that the total stays and the mix has the wanted temperature; same unit as `water`. */
export function iceInWater(water: number, tapTempC: number, wantedC: number): number {
  if (wantedC >= tapTempC) return 0;
  return Math.min(water, (water * CP_WATER * (tapTempC - wantedC)) / (ICE_MELT + CP_WATER * tapTempC));
}

export interface WaterPlan {
  /** As the sum gives it, also where no water can be so cold or so hot. */
  readonly wantedC: number;
  readonly waterG: number;
  readonly iceG: number;
  /** ok: water as wanted; iced: part of it is ice; all-ice: colder than water can be; too-hot; no-ice: another liquid would have to be below freezing. */
  readonly state: "ok" | "iced" | "all-ice" | "too-hot" | "too-cold";
}

/** What to weigh for a wanted temperature. Only water is iced; another liquid is chilled as far as it goes. */
export function planWater(liquidG: number, tapTempC: number, wantedC: number, canBeIced: boolean): WaterPlan {
  if (wantedC > TOO_HOT_C) return { wantedC, waterG: liquidG, iceG: 0, state: "too-hot" };
  if (!canBeIced) return { wantedC, waterG: liquidG, iceG: 0, state: wantedC < FREEZING_C ? "too-cold" : "ok" };
  if (wantedC >= tapTempC) return { wantedC, waterG: liquidG, iceG: 0, state: "ok" };
  const iceG = iceInWater(liquidG, tapTempC, wantedC);
  return { wantedC, waterG: liquidG - iceG, iceG, state: wantedC < FREEZING_C ? "all-ice" : "iced" };
}
