import type { Batch, Load, Timetable } from "../../schemas/index.js";
import { fullPan, tubsFor } from "../problem/containers.js";
import type { DayIndex } from "../problem/day-index.js";
import { doughForPiecesG } from "../trade/dough.js";

/** Dough is weighed in whole grams. */
const SAME_G = 1;

/** Is a load of the timetable in force what the documents would have made of its pieces now? */
function isAsCatalogued(index: DayIndex, load: Load, batch: Batch): boolean {
  const product = index.products.get(load.product);
  if (product?.dough !== batch.dough) return false;
  for (const site of [batch.site, load.bakedAt, load.deliveredTo]) if (!index.sites.has(site)) return false;
  if (Math.abs(load.doughG - doughForPiecesG(product, load.pieces)) > SAME_G) return false;
  return load.pieces <= load.pans * fullPan(index, product);
}

/** Batches that have not begun with a load that the documents would make otherwise now: they are made anew. */
export function outdatedBatches(
  index: DayIndex,
  begun: { has(batch: string): boolean },
  inForce: Timetable,
): Set<string> {
  const outdated = new Set<string>();
  const batches = new Map(inForce.batches.map((batch) => [batch.id, batch]));
  for (const load of inForce.loads) {
    if (begun.has(load.batch) || outdated.has(load.batch)) continue;
    const batch = batches.get(load.batch);
    if (batch && !isAsCatalogued(index, load, batch)) outdated.add(batch.id);
  }
  return outdated;
}

/** Dough in the tubs that a load of mixed dough is in, where the documents would fill others now: it stays in those. */
export function tubsAsFilled(index: DayIndex, load: Load, batch: Batch): readonly number[] | undefined {
  if (load.tubs.length === 0) return undefined;
  const dough = index.doughs.get(batch.dough);
  const site = index.sites.get(batch.site);
  if (dough && site && tubsFor(index, dough, site, load.doughG).length === load.tubs.length) return undefined;
  return load.tubs.map(({ doughG }) => doughG);
}
