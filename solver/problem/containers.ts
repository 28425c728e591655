import type { Dough, Fridge, Product, Site } from "../../schemas/index.js";
import { piecesPerPan } from "../geometry/index.js";
import { greatestTubMassG } from "../trade/cooling.js";
import type { DayIndex } from "./day-index.js";

const limits = new WeakMap<Dough, WeakMap<Fridge, number>>();

/** The greatest tub of a dough that chills in time in a fridge, g; the cooling sum is done once per pair. */
function tubLimitG(index: DayIndex, dough: Dough, fridge: Fridge): number {
  let byFridge = limits.get(dough);
  if (!byFridge) {
    byFridge = new WeakMap();
    limits.set(dough, byFridge);
  }
  let limit = byFridge.get(fridge);
  if (limit === undefined) {
    limit = greatestTubMassG({ tubType: index.tubTypes.get(dough.tubType!)!, dough, fridge });
    byFridge.set(fridge, limit);
  }
  return limit;
}

/** Dough in each of the equal tubs that a load is split over at a site, g; empty when no fridge there chills it. */
export function tubsFor(index: DayIndex, dough: Dough, site: Site, doughG: number): number[] {
  if (dough.tubType === undefined) return [];
  const limit = Math.max(0, ...site.fridges.map((fridge) => tubLimitG(index, dough, fridge)));
  if (limit <= 0) return [];
  const count = Math.ceil(doughG / limit);
  return equalShares(doughG, count);
}

/** Whole grams that add up to the total (itself in whole grams), as equal as can be. */
function equalShares(total: number, count: number): number[] {
  const least = Math.floor(total / count);
  const more = Math.round(total - least * count);
  return Array.from({ length: count }, (_, i) => (i < more ? least + 1 : least));
}

/** Pieces on a full pan of the product. */
export function fullPan(index: DayIndex, product: Product): number {
  return piecesPerPan(product, index.panTypes.get(product.panType)!).count;
}
