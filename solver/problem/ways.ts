import type { Dough, HandOver, Route } from "../../schemas/index.js";
import { limitOf } from "../trade/holding.js";
import type { DayIndex, TripTimes } from "./day-index.js";
import type { LoadSpec } from "./explode.js";

/** How a load may change sites, and where it is then made. */
export interface Way {
  readonly mixSite: string;
  readonly bakeSite: string;
  readonly handOver: HandOver | null;
  readonly trip: TripTimes | null;
}

/** Whether the dough stands in the cold in tubs or as pans; null when it does not. */
export function retardsIn(route: Route): "tubs" | "pans" | null {
  const shape = route.steps.findIndex((step) => step.does === "shape");
  const retard = route.steps.findIndex((step) => step.does === "retard");
  if (retard < 0) return null;
  return retard < shape ? "tubs" : "pans";
}

/** Is a chilled ride on this trip within what the dough bears out of the cold? */
function bearsRide(index: DayIndex, dough: Dough, trip: TripTimes): boolean {
  const { run } = trip;
  const { outOfColdMinutes } = limitOf(index.day.settings, dough);
  const warm = run.loadMinutes + run.unloadMinutes + (run.chilled ? 0 : run.travelMinutes);
  return outOfColdMinutes === undefined ? run.chilled : warm <= outOfColdMinutes;
}

/** When the last line that a load serves is due; minus infinity: it serves none. */
export function lastDue({ portions }: LoadSpec): number {
  let last = Number.NEGATIVE_INFINITY;
  for (const { want } of portions) last = Math.max(last, want.due);
  return last;
}

/** Trips to the load's site that deliver by its last due time, and of each run the first one after it. */
export function usefulTrips(index: DayIndex, load: LoadSpec): TripTimes[] {
  const due = lastDue(load);
  const lateRuns = new Set<string>();
  const useful: TripTimes[] = [];
  for (const trip of tripsTo(index, load.deliverTo)) {
    // What is on a van so late arrives after the window; nothing else rides it.
    if (trip.delivered > index.horizon && trip.id !== load.trip) continue;
    const isInTime = trip.id === load.trip || trip.delivered <= due;
    if (!isInTime && lateRuns.has(trip.run.id)) continue;
    if (!isInTime) lateRuns.add(trip.run.id);
    useful.push(trip);
  }
  return useful;
}

const tripsKnown = new WeakMap<readonly TripTimes[], ReadonlyMap<string, readonly TripTimes[]>>();

function tripsTo({ trips }: DayIndex, site: string): readonly TripTimes[] {
  let bySite = tripsKnown.get(trips);
  if (!bySite) {
    const found = new Map<string, TripTimes[]>();
    for (const trip of trips) {
      const own = found.get(trip.run.to);
      if (own) own.push(trip);
      else found.set(trip.run.to, [trip]);
    }
    bySite = found;
    tripsKnown.set(trips, bySite);
  }
  return bySite.get(site) ?? NO_TRIPS;
}

const NO_TRIPS: readonly TripTimes[] = [];

/** All ways of one route in which a load may change sites, on the trips that are useful to it. */
export function waysOf(
  index: DayIndex,
  load: LoadSpec,
  dough: Dough,
  route: Route,
  trips: readonly TripTimes[],
): Way[] {
  const ways: Way[] = [];
  const { deliverTo, madeAt } = load;
  if (madeAt === undefined || madeAt === deliverTo) {
    ways.push({ mixSite: deliverTo, bakeSite: deliverTo, handOver: null, trip: null });
  }
  for (const handOver of route.handOvers ?? []) {
    for (const trip of trips) {
      if (handOver !== "baked" && trip.delivered > index.horizon) continue;
      const bakeSite = handOver === "baked" ? trip.run.from : deliverTo;
      if (madeAt !== undefined && madeAt !== bakeSite) continue;
      if (handOver !== "baked" && (retardsIn(route) !== handOver || !bearsRide(index, dough, trip))) continue;
      ways.push({ mixSite: trip.run.from, bakeSite, handOver, trip });
    }
  }
  return ways;
}
