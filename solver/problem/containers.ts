import type { Dough, Fridge, Product, Site, TubType } from "../../schemas/index.js";
import { piecesPerPan } from "../geometry/index.js";
import { greatestRetardMinutes } from "../trade/fermentation.js";
import { tubLimit } from "../trade/tubs.js";
import type { DayIndex } from "./day-index.js";

const limits = new WeakMap<Dough, WeakMap<Fridge, number>>();
/** The same by what the dough and the fridge are: large networks have many fridges that are alike, and the sum takes milliseconds. */
const limitsOfKinds = new Map<string, number>();
const MOST_KINDS = 10_000;

const texts = new WeakMap<object, string>();

/** Text of what matters of a dough, tub or fridge: written once for all the pairs that it is in. */
function textOf(of: TubType | Dough | Fridge): string {
  let text = texts.get(of);
  if (text === undefined) {
    if ("shelves" in of) {
      const { id: _id, name: _name, shelves: _shelves, heatRemovalW: _heat, ...air } = of;
      text = JSON.stringify(air);
    } else text = JSON.stringify(of);
    texts.set(of, text);
  }
  return text;
}

function kindKey(tubType: TubType, dough: Dough, fridge: Fridge): string {
  return `${textOf(tubType)} ${textOf(dough)} ${textOf(fridge)}`;
}

/** The greatest tub of a dough that chills in time in a fridge and bears ferment.forMinutes there, g; worked out once per kind of pair. */
export function tubLimitG(tubType: TubType, dough: Dough, fridge: Fridge): number {
  let byFridge = limits.get(dough);
  if (!byFridge) {
    byFridge = new WeakMap();
    limits.set(dough, byFridge);
  }
  let limit = byFridge.get(fridge);
  if (limit !== undefined) return limit;
  const key = kindKey(tubType, dough, fridge);
  limit = limitsOfKinds.get(key);
  if (limit === undefined) {
    if (limitsOfKinds.size > MOST_KINDS) limitsOfKinds.clear();
    limit = tubLimit(tubType, dough, fridge).massG;
    limitsOfKinds.set(key, limit);
  }
  byFridge.set(fridge, limit);
  return limit;
}

const stays = new WeakMap<Dough, WeakMap<Fridge, Map<number, number>>>();
/** The same by what dough and fridge are: a process that serves a day again has its documents anew. */
const staysOfKinds = new Map<string, Map<number, number>>();

/** The longest that a tub of so much dough may be retarded in a fridge before it has fermented its fill, minutes; Infinity without such a limit. */
export function retardLimitMinutes(tubType: TubType, dough: Dough, fridge: Fridge, doughG: number): number {
  if (!dough.ferment) return Number.POSITIVE_INFINITY;
  const byFridge = stays.get(dough) ?? new WeakMap<Fridge, Map<number, number>>();
  stays.set(dough, byFridge);
  let byMass = byFridge.get(fridge);
  if (!byMass) {
    const key = kindKey(tubType, dough, fridge);
    if (staysOfKinds.size > MOST_KINDS) staysOfKinds.clear();
    byMass = staysOfKinds.get(key) ?? new Map<number, number>();
    staysOfKinds.set(key, byMass);
    byFridge.set(fridge, byMass);
  }
  let minutes = byMass.get(doughG);
  if (minutes === undefined) {
    if (byMass.size > MOST_KINDS) byMass.clear();
    minutes = greatestRetardMinutes(dough, tubType, fridge, doughG);
    byMass.set(doughG, minutes);
  }
  return minutes;
}

/** The greatest tub of a dough at a site, g; 0 when no fridge there chills it. */
export function greatestTubG(index: DayIndex, dough: Dough, site: Site): number {
  if (dough.tubType === undefined) return 0;
  const tubType = index.tubTypes.get(dough.tubType)!;
  return Math.max(0, ...site.fridges.map((fridge) => tubLimitG(tubType, dough, fridge)));
}

/** Dough in each of the equal tubs that a load is split over at a site, g; empty when no fridge there chills it. */
export function tubsFor(index: DayIndex, dough: Dough, site: Site, doughG: number): number[] {
  const limit = greatestTubG(index, dough, site);
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
