import type { Route, Step } from "../schemas/index.js";
import { type AtSite, atEachSite, siteBySiteText } from "./check/site-by-site.js";
import { ChainBuilder } from "./problem/chain-builder.js";
import type { LoadSpec } from "./problem/explode.js";
import type { Problem } from "./problem/index.js";
import { retardsIn, usefulTrips, waysOf } from "./problem/ways.js";

/** What a load wants at a step that a site cannot give it all at once; at none: what it takes along the way. */
function wantedAt(route: Route, step: Step | undefined, load: LoadSpec): string {
  const pans = `${load.pans} ${load.pans === 1 ? "pan" : "pans"}`;
  if (!step) return `not ${pans} or the tubs of a load at once`;
  switch (step.does) {
    case "retard":
      return retardsIn(route) === "tubs"
        ? "no fridge with room for its tubs at once, or none that they may stay in for as long as the route wants"
        : `no fridge with room for ${pans} of its kind at once`;
    case "proof":
      return `no proofer for ${pans} at once`;
    case "cool":
      return `no rack for ${pans} at once`;
    case "bake":
      return `no deck for ${pans} at once`;
    default:
      return `nobody or nothing to ${step.does} it`;
  }
}

/** Why the site that has all that a route needs cannot make this load; empty when it could, were it only mixed. */
function lacksOfLoad(problem: Problem, load: LoadSpec, siteId: string): string {
  const { index, request } = problem.prepared;
  const product = index.products.get(load.product)!;
  const dough = index.doughs.get(product.dough)!;
  const trips = usefulTrips(index, load);
  let most = -1;
  let words = "";
  for (const route of product.routes)
    for (const way of waysOf(index, load, dough, route, trips)) {
      if (way.mixSite !== siteId) continue;
      const builder = new ChainBuilder(request, load, route, way);
      if (builder.build()) return "";
      if (builder.steps.length <= most) continue;
      most = builder.steps.length;
      words = wantedAt(route, route.steps[most], load);
    }
  if (most >= 0) return words;
  const to = index.sites.get(load.deliverTo)?.name ?? load.deliverTo;
  return `no van leaves there for ${to} in the window, as cold as its routes want it`;
}

/** Why no site can make a load, site by site. */
export function whyNobodyMakes(problem: Problem, load: LoadSpec): string {
  const { day, products, doughs } = problem.index;
  const product = products.get(load.product)!;
  const found = atEachSite(day, product, doughs.get(product.dough)!, load.deliverTo, load.madeAt);
  const told = found.map(({ site, lacks }): AtSite => {
    if (lacks.length > 0) return { site, lacks };
    const own = lacksOfLoad(problem, load, site.id);
    return { site, lacks: [own === "" ? "no mixer for its batch" : own] };
  });
  return `Nobody can make it. ${siteBySiteText(told)}`;
}
