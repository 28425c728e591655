import type { Dough, HandOver, Route } from "../../schemas/index.js";
import type { DayIndex, TripTimes } from "../problem/day-index.js";
import type { Family } from "./families.js";

/** How a family can be made: by which route, mixed and baked where, riding what. */
export interface Way {
  readonly route: Route;
  readonly mixSite: string;
  readonly bakeSite: string;
  readonly handOver: HandOver | null;
  readonly trip: TripTimes | null;
}

/** Where the retard of a route stands: before shaping in tubs, after it as pans; null without one. */
export function retardsIn(route: Route): "tubs" | "pans" | null {
  const retard = route.steps.findIndex((step) => step.does === "retard");
  if (retard < 0) return null;
  return retard < route.steps.findIndex((step) => step.does === "shape") ? "tubs" : "pans";
}

/** D16: is a chilled ride on this trip within what the dough bears out of the cold? */
function bearsRide(dough: Dough, { run }: TripTimes): boolean {
  if (dough.maxOutOfColdMinutes === undefined) return run.chilled;
  return run.loadMinutes + run.unloadMinutes + (run.chilled ? 0 : run.travelMinutes) <= dough.maxOutOfColdMinutes;
}

/** Every way that the documents allow and that can deliver by `latest`. Whether a site has what it takes is seen later. */
export function waysOf(index: DayIndex, family: Family, latest: number): Way[] {
  const product = index.products.get(family.product)!;
  const dough = index.doughs.get(product.dough)!;
  const { deliverTo, madeAt } = family;
  const ways: Way[] = [];
  for (const route of product.routes) {
    if (madeAt === undefined || madeAt === deliverTo)
      ways.push({ route, mixSite: deliverTo, bakeSite: deliverTo, handOver: null, trip: null });
    for (const handOver of route.handOvers ?? []) {
      for (const trip of index.trips) {
        if (trip.run.to !== deliverTo || trip.delivered > latest) continue;
        const bakeSite = handOver === "baked" ? trip.run.from : deliverTo;
        if (madeAt !== undefined && madeAt !== bakeSite) continue;
        if (handOver !== "baked" && (retardsIn(route) !== handOver || !bearsRide(dough, trip))) continue;
        ways.push({ route, mixSite: trip.run.from, bakeSite, handOver, trip });
      }
    }
  }
  return ways;
}
