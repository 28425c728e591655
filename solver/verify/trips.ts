import type { DayDocuments, Network, Site, VanRun } from "../../schemas/index.js";
import { dateStamp, midnights, wallAt } from "./time.js";

export interface TripFact {
  readonly id: string;
  readonly run: VanRun;
  readonly departs: number;
  readonly arrives: number;
  /** Minutes that it was told to be late. */
  readonly late: number;
}

/** The departures of a window, in epoch minutes, and when each is busy, loading and unloading included. */
export interface Trips {
  readonly trips: ReadonlyMap<string, TripFact>;
  readonly rides: ReadonlyMap<string, { readonly from: number; readonly to: number }>;
}

interface Known extends Trips {
  readonly from: number;
  readonly to: number;
}

const known = new WeakMap<Network, Known>();

/** Kept with the network while no van is told to be late. */
export function tripsOf(day: DayDocuments, sites: ReadonlyMap<string, Site>, from: number, to: number): Trips {
  if (day.happenings.happenings.some(({ kind }) => kind === "van-late")) return workOut(day, sites, from, to);
  let found = known.get(day.network);
  if (found?.from !== from || found.to !== to) {
    found = { from, to, ...workOut(day, sites, from, to) };
    known.set(day.network, found);
  }
  return found;
}

function workOut(day: DayDocuments, sites: ReadonlyMap<string, Site>, from: number, to: number): Trips {
  const trips = new Map<string, TripFact>();
  const rides = new Map<string, { from: number; to: number }>();
  for (const run of day.network.vanRuns) {
    const zone = sites.get(run.from)?.timeZone;
    if (zone === undefined) continue;
    for (const midnight of midnights(run.days, zone, from, to)) {
      const id = `${run.id}-${dateStamp(midnight)}`;
      const late = delayOf(day, id);
      const departs = wallAt(midnight, run.departs, zone) + late;
      const arrives = departs + run.travelMinutes;
      trips.set(id, { id, run, departs, arrives, late });
      rides.set(id, { from: departs - run.loadMinutes, to: arrives + run.unloadMinutes });
    }
  }
  return { trips, rides };
}

function delayOf(day: DayDocuments, trip: string): number {
  let minutes = 0;
  for (const happening of day.happenings.happenings)
    if (happening.kind === "van-late" && happening.trip === trip) minutes = happening.minutes;
  return minutes;
}
