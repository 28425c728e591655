import type { HandOver, Route, Step } from "../../schemas/index.js";
import { holdIn } from "../search/copies.js";
import type { Hold, Mode } from "../search/model.js";
import { ChainBuilder } from "./chain-builder.js";
import { type Chains, chainsOf, type PossibleWay, type Ways } from "./chain-store.js";
import type { DayIndex, TripTimes } from "./day-index.js";
import type { LoadSpec } from "./explode.js";
import type { SiteRows } from "./site-rows.js";
import { lastDue, retardsIn, usefulTrips, type Way, waysOf } from "./ways.js";

export type { Way } from "./ways.js";

/** Which part of the chain a step of the route is. */
export interface StepTrace {
  readonly step: Step;
  readonly site: string;
  /** Index of the hold that it lasts for, or of the operation that it is. */
  readonly hold: number;
  readonly operation: number;
}

/** What a mode of the search means in the trade's words. */
export interface ModeMeaning {
  readonly route: Route;
  readonly mixSite: string;
  readonly bakeSite: string;
  readonly handOver: HandOver | null;
  readonly trip: TripTimes | null;
  readonly steps: readonly StepTrace[];
  /** Dough in each tub, g; empty when nothing is retarded in tubs. */
  readonly tubsG: readonly number[];
  /** Its items are carried to other positions because their unit fails (D21). */
  readonly isCarried?: boolean;
}

/** The same with its items carried, or not. (Field by field: the compiler sees one kind of object.) */
export function meaningWith(
  { route, mixSite, bakeSite, handOver, trip, steps, tubsG }: ModeMeaning,
  isCarried: boolean,
): ModeMeaning {
  return { route, mixSite, bakeSite, handOver, trip, steps, tubsG, isCarried };
}

export interface MadeMode {
  readonly mode: Mode;
  readonly meaning: ModeMeaning;
}

export interface ModeRequest {
  readonly index: DayIndex;
  readonly rows: ReadonlyMap<string, SiteRows>;
  /** Row of each trip, by trip id, and its number. */
  readonly trips: ReadonlyMap<string, { readonly number: number; readonly row: number }>;
  readonly siteNumbers: ReadonlyMap<string, number>;
}

/** The same chain on another trip: only when it leaves and arrives is different. */
function onTrip(request: ModeRequest, { mode, meaning }: MadeMode, trip: TripTimes): MadeMode {
  const isBaked = meaning.handOver === "baked";
  const { leave, delivered } = trip;
  const { horizon } = request.index;
  const holds: Hold[] = [];
  for (const hold of mode.holds) {
    const { rows, heatRows, ride } = hold;
    holds.push(ride ? holdIn(hold, rows, heatRows, { leave, arrive: delivered, rows: ride.rows }) : hold);
  }
  return {
    mode: {
      ...mode,
      holds,
      trip: request.trips.get(trip.id)!.number,
      finishBy: isBaked ? Math.min(leave, horizon) : mode.finishBy,
      deliveredAt: isBaked ? Math.min(delivered, horizon) : -1,
    },
    meaning: { ...meaning, trip },
  };
}

function chainOf(request: ModeRequest, chains: Chains, size: string, load: LoadSpec, route: Route, way: Way) {
  const key = `${size} ${route.id} ${way.mixSite} ${way.bakeSite} ${way.handOver}`;
  const full = way.trip ? `${key} ${way.trip.id}` : key;
  let made = chains.get(full);
  if (made !== undefined) return made;
  // On another trip only the times differ.
  const like = chains.get(key);
  if (like === undefined) {
    made = new ChainBuilder(request, load, route, way).build();
    chains.set(key, made);
  } else made = like && onTrip(request, like, way.trip!);
  chains.set(full, made);
  return made;
}

/** Says which ways are wanted. (An object with a method: what the compiler makes of functions made for each load is lost with them.) */
export interface WantedWays {
  has(route: Route, way: Way): boolean;
}

/** All ways in which a load can be made: site, route, hand-over and trip; or those that are wanted. */
export function modesOf(request: ModeRequest, load: LoadSpec, wanted?: WantedWays): MadeMode[] {
  const all = allModesOf(request, load, wanted);
  const { onlyWay } = load;
  if (!onlyWay) return all;
  const own = all.filter(({ meaning: { route, mixSite, bakeSite } }) => {
    const isThere = mixSite === onlyWay.mixSite && bakeSite === onlyWay.bakeSite;
    return isThere && retardsIn(route) === onlyWay.retards;
  });
  return own.length > 0 ? own : all;
}

/** Ways that were looked up for a load, of a store. */
interface FoundWays {
  readonly known: Ways;
  readonly size: string;
  readonly ways: readonly PossibleWay[];
}

const foundKnown = new WeakMap<LoadSpec, FoundWays>();

function allModesOf(request: ModeRequest, load: LoadSpec, wanted: WantedWays | undefined): MadeMode[] {
  const { chains, ways: known } = chainsOf(request);
  let found = foundKnown.get(load);
  if (found?.known !== known) {
    const size = `${load.product} ${load.pieces} ${load.pans} ${load.doughG} ${load.tubsG ?? ""}`;
    found = { known, size, ways: waysOfLoad(request, known, size, load) };
    foundKnown.set(load, found);
  }
  const { size } = found;
  const made: MadeMode[] = [];
  for (const possible of found.ways) {
    const { route, way } = possible;
    if (wanted && !wanted.has(route, way)) continue;
    if (possible.made === undefined) possible.made = chainOf(request, chains, size, load, route, way);
    if (possible.made) made.push(possible.made);
  }
  return made;
}

/** All ways of a load, of whatever route: the same for loads alike that go to one site by one time. */
function waysOfLoad(request: ModeRequest, known: Ways, size: string, load: LoadSpec): readonly PossibleWay[] {
  const { index } = request;
  const key = `${size} ${load.deliverTo} ${load.madeAt} ${lastDue(load)} ${load.trip}`;
  let ways = known.get(key);
  if (ways) return ways;
  ways = [];
  const product = index.products.get(load.product)!;
  const dough = index.doughs.get(product.dough)!;
  const trips = product.routes.some(({ handOvers }) => handOvers) ? usefulTrips(index, load) : [];
  for (const route of product.routes)
    for (const way of waysOf(index, load, dough, route, trips)) ways.push({ route, way, made: undefined });
  known.set(key, ways);
  return ways;
}
