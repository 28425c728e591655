import type { BoilStep, Dough, Kettle, Product, Site } from "../../schemas/index.js";
import { materialOf } from "./thermal.js";

const WATER_CP_J_PER_KG_K = 4186;
/** Dough is taken to enter at proofing cold and leave half warmed through: a ring of 17 mm cord radius has about half of its full heat after 105 s (series for a cylinder). */
const PIECE_IN_C = 10;
const PIECE_OUT_C = 50;
/** What is a whole number but for the computer's last digits is not rounded up. */
const A_HAIR = 1e-6;

/**
 * Boiling point of water at an altitude, C. Barometric formula of the standard atmosphere (to 11 km), then the Antoine
 * equation for water (1-100 C, mmHg).
 */
export function boilingTempC(altitudeM: number): number {
  const pressurePa = 101325 * (1 - 2.25577e-5 * altitudeM) ** 5.25588;
  const mmHg = pressurePa / 133.322;
  return 1730.63 / (8.07131 - Math.log10(mmHg)) - 233.426;
}

/** Minutes from cold to the boil: the user's measured ones, else heat balance without losses, rounded up. */
export function heatUpMinutes(kettle: Kettle, site: Pick<Site, "altitudeM">): number {
  if (kettle.heatUpMinutes !== undefined) return kettle.heatUpMinutes;
  const rise = boilingTempC(site.altitudeM ?? 0) - (kettle.coldWaterTempC ?? 15);
  return Math.max(0, Math.ceil((kettle.litres * WATER_CP_J_PER_KG_K * rise) / kettle.netHeatW / 60 - A_HAIR));
}

/**
 * Minutes from cold to the boil where a change of water is planned to take less than these alone: cleaningMinutes are the whole change, emptying, rinsing
 * and filling too. Null when they are enough, or the kettle is never cleaned.
 */
export function heatUpBeyondCleaning(kettle: Kettle, site: Pick<Site, "altitudeM">): number | null {
  const planned = kettle.cleaningMinutes ?? 0;
  const heatUp = heatUpMinutes(kettle, site);
  return planned > 0 && planned < heatUp ? heatUp : null;
}

/** Pieces of a product in one dip, or null when they are too large for the kettle's table. */
export function piecesPerDip(kettle: Pick<Kettle, "piecesPerDip">, product: Pick<Product, "shape">): number | null {
  const { shape } = product;
  const measure = shape.form === "round" ? shape.diameterMm : Math.max(shape.widthMm, shape.depthMm);
  for (const { upToMm, pieces } of kettle.piecesPerDip) if (upToMm >= measure) return pieces;
  return null;
}

/** Seconds from one dip to the next (D11): the boil and the longer of handling and the water's recovery. Null as above. */
export function boilCycleSeconds(
  kettle: Kettle,
  step: BoilStep,
  product: Product,
  dough: Pick<Dough, "thermal" | "composition">,
): number | null {
  const pieces = piecesPerDip(kettle, product);
  if (pieces === null) return null;
  const cp = materialOf(dough).cpKjPerKgK;
  const heatJ = pieces * product.pieceG * cp * (PIECE_OUT_C - PIECE_IN_C);
  const recovery = kettle.recoverySeconds ?? Math.ceil(heatJ / kettle.netHeatW - A_HAIR);
  return step.sides * step.secondsPerSide + Math.max(kettle.handlingSeconds, recovery);
}

/** Minutes of a boil of so many pieces; null as above. */
export function boilMinutes(
  kettle: Kettle,
  step: BoilStep,
  product: Product,
  dough: Pick<Dough, "thermal" | "composition">,
  pieces: number,
): number | null {
  const perDip = piecesPerDip(kettle, product);
  const cycle = boilCycleSeconds(kettle, step, product, dough);
  if (perDip === null || cycle === null) return null;
  return Math.ceil((Math.ceil(pieces / perDip) * cycle) / 60);
}

/** The dips of a boil: seconds from its start and pieces. Empty when the pieces do not fit the kettle. */
export function dips(
  kettle: Kettle,
  step: BoilStep,
  product: Product,
  dough: Pick<Dough, "thermal" | "composition">,
  pieces: number,
): { readonly afterSeconds: number; readonly pieces: number }[] {
  const perDip = piecesPerDip(kettle, product);
  const cycle = boilCycleSeconds(kettle, step, product, dough);
  if (perDip === null || cycle === null) return [];
  const found: { afterSeconds: number; pieces: number }[] = [];
  for (let k = 0, left = pieces; left > 0; k++, left -= perDip)
    found.push({ afterSeconds: k * cycle, pieces: Math.min(perDip, left) });
  return found;
}

/** Kelvin by which a dip cools the water. */
export function dipDropK(litres: number, pieces: number, pieceG: number, cpKjPerKgK: number, riseK: number): number {
  return (pieces * pieceG * cpKjPerKgK * riseK) / (litres * WATER_CP_J_PER_KG_K);
}

/** Grams of lye (food-grade sodium hydroxide) for a bath: percent as mass to volume, so many grams to 100 ml of water. */
export function lyeG(litres: number, lyePercent: number): number {
  return Math.round(litres * lyePercent * 10);
}

/** Water that boils off, kg (or litres) an hour, when so much heat goes into steam: latent heat 2257 kJ/kg. */
export function evaporationKgPerHour(heatW: number): number {
  return (3600 * heatW) / 1000 / 2257;
}

/** Pieces an hour that a kettle keeps up: full dips, one cycle each. */
export function sustainedPiecesPerHour(perDip: number, cycleSeconds: number): number {
  return (perDip * 3600) / cycleSeconds;
}
