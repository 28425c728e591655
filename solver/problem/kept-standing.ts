import { tubsFor } from "./containers.js";
import type { DayIndex } from "./day-index.js";
import type { LoadSpec } from "./explode.js";
import type { Kept } from "./kept.js";

/**
 * Containers of kept loads in each site's fridges, by site and kind ("site tub x", "site pan y"), as if all stood at once: shelves that are shared out among what is
 * to be made anew must leave room for them, or a locked load has nowhere to stand.
 */
export function keptStanding(index: DayIndex, kept: Kept): Map<string, number> {
  const standing = new Map<string, number>();
  for (const load of kept.batches.flatMap(({ loads }) => loads)) {
    const sites = new Set(
      (kept.tasks.get(load.id) ?? []).flatMap((task) => (task.does === "retard" ? [task.site] : [])),
    );
    if (sites.size === 0) continue;
    const { kind, count } = containersOf(index, kept, load);
    for (const site of sites) standing.set(`${site} ${kind}`, (standing.get(`${site} ${kind}`) ?? 0) + count);
  }
  return standing;
}

/** In what a load is chilled, shaped or not yet, and how many of them. */
function containersOf(index: DayIndex, kept: Kept, load: LoadSpec): { kind: string; count: number } {
  const product = index.products.get(load.product)!;
  const dough = index.doughs.get(product.dough)!;
  const steps = product.routes.find(({ id }) => id === kept.before.get(load.id)?.route)?.steps ?? [];
  const stepAt = (does: string): number => steps.findIndex((step) => step.does === does);
  if (stepAt("retard") > stepAt("shape")) return { kind: `pan ${product.panType}`, count: load.pans };
  return {
    kind: `tub ${dough.tubType}`,
    count: Math.max(1, tubsFor(index, dough, index.sites.get(load.mixSite)!, load.doughG).length),
  };
}
