import type { BoilStep, Dough, Kettle, Product, Site } from "../../schemas/index.js";
import { propertiesOf } from "./thermal.js";

/** The verifier's own kettle sums (D11). */

export function dipSize(kettle: Kettle, product: Product): number | null {
  const measure =
    product.shape.form === "round" ? product.shape.diameterMm : Math.max(product.shape.widthMm, product.shape.depthMm);
  for (const { upToMm, pieces } of kettle.piecesPerDip) if (measure <= upToMm) return pieces;
  return null;
}

/** Seconds from the start of one dip to the start of the next. */
export function dipCycle(kettle: Kettle, step: BoilStep, product: Product, dough: Dough): number | null {
  const size = dipSize(kettle, product);
  if (size === null) return null;
  const joulesPerPiece = product.pieceG * propertiesOf(dough).cpKjPerKgK * 40;
  const recovery = kettle.recoverySeconds ?? Math.ceil((size * joulesPerPiece) / kettle.netHeatW - 1e-6);
  return step.secondsPerSide * step.sides + Math.max(recovery, kettle.handlingSeconds);
}

export function boilMinutesOf(
  kettle: Kettle,
  step: BoilStep,
  product: Product,
  dough: Dough,
  pieces: number,
): number | null {
  const size = dipSize(kettle, product);
  const cycle = dipCycle(kettle, step, product, dough);
  return size === null || cycle === null ? null : Math.ceil((Math.ceil(pieces / size) * cycle) / 60);
}

/** Minutes from cold to the boil. */
export function kettleLead(kettle: Kettle, site: Site): number {
  if (kettle.heatUpMinutes !== undefined) return kettle.heatUpMinutes;
  const pascal = 101325 * (1 - 2.25577e-5 * (site.altitudeM ?? 0)) ** 5.25588;
  const boilsAt = 1730.63 / (8.07131 - Math.log10(pascal / 133.322)) - 233.426;
  const joules = kettle.litres * 4186 * (boilsAt - (kettle.coldWaterTempC ?? 15));
  return Math.max(0, Math.ceil(joules / kettle.netHeatW / 60 - 1e-6));
}
