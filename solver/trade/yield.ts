import type { Dough, Product } from "../../schemas/index.js";

/** Pieces, flour, loss and whole batches. Sources: Gisslen, Professional Baking; check values in test/unit/trade/facts-dough.test.ts. */

/** What is put on or into a piece before the bake, g. */
export function toppedG({ toppings = [] }: Pick<Product, "toppings">): number {
  return toppings.reduce((sum, { gPerPiece }) => sum + gPerPiece, 0);
}

/** Bake loss as a share of what goes into the oven, dough and toppings, when the baked mass was weighed. */
export function bakeLossShare(product: Pick<Product, "pieceG" | "bakedG" | "toppings">): number | null {
  return product.bakedG === undefined ? null : 1 - product.bakedG / (product.pieceG + toppedG(product));
}

/** Dough for so many baked pieces, g: pieces x bakedG / ((1 - bake loss)(1 - scrap)); shares from 0 to below 1. */
export function doughForBakedG(pieces: number, bakedG: number, lossShare: number, scrapShare: number): number {
  return (pieces * bakedG) / ((1 - lossShare) * (1 - scrapShare));
}

/** Sum of all percents of a formula; flour is 100. */
export function totalPercent(dough: Pick<Dough, "formula">): number {
  return dough.formula.reduce((sum, line) => sum + line.bakersPercent, 0);
}

/** Flour in so much dough, g. */
export function flourInDoughG(dough: Pick<Dough, "formula">, doughG: number): number {
  return (100 * doughG) / totalPercent(dough);
}

/** Baker's percents of weighed ingredients. */
export function bakersPercents(flourG: number, massesG: readonly number[]): number[] {
  return massesG.map((massG) => (100 * massG) / flourG);
}

/** Equal batches that make at least so much dough, none above the bowl's limit and none below its least. */
export function wholeBatches(
  doughG: number,
  leastG: number,
  mostG: number,
): { readonly count: number; readonly massG: number } {
  const count = Math.max(1, Math.ceil(doughG / mostG - 1e-9));
  return { count, massG: Math.max(leastG, doughG / count) };
}
