import type { Catalogue, Route, Settings } from "../../schemas/index.js";
import type { TripTimes } from "./day-index.js";
import type { MadeMode, ModeRequest } from "./modes.js";
import type { SiteRows } from "./site-rows.js";
import type { Way } from "./ways.js";

/** Chains that were made, by product, size, route and where; one of each for all loads alike, for there are many of both. */
export type Chains = Map<string, MadeMode | null>;

/** A way in which a load may be made, and its chain: null when it cannot be, undefined until somebody asks. */
export interface PossibleWay {
  readonly route: Route;
  readonly way: Way;
  made: MadeMode | null | undefined;
}

/** Ways of loads, by what they and their chains depend on. */
export type Ways = Map<string, PossibleWay[]>;

interface Store {
  readonly chains: Chains;
  readonly ways: Ways;
}

/** What chains are made of, besides the trips that they go with. */
interface Layout extends Store {
  readonly catalogue: Catalogue;
  readonly settings: Settings;
  readonly horizon: number;
  readonly text: string;
}

/**
 * A day is posed again and again, while things happen. Most of what happens makes capacities smaller and leaves rows where they were: then the chains are the same.
 * They go with the trips (a day's network keeps those while no van is late), and are let go with them.
 */
const layouts = new WeakMap<readonly TripTimes[], Layout[]>();
/** Layouts that are kept of a day: without news, and with something out in two ways. */
const MOST_LAYOUTS = 3;
const MOST_CHAINS = 30_000;

const storesKnown = new WeakMap<ModeRequest, Store>();

/** The ways and chains that were made for such a request before. */
export function chainsOf(request: ModeRequest): Store {
  let store = storesKnown.get(request);
  if (!store) {
    store = storeOf(request);
    storesKnown.set(request, store);
  }
  return store;
}

function storeOf(request: ModeRequest): Store {
  const { day, horizon, trips } = request.index;
  const { catalogue, settings } = day;
  const text = layoutText(request);
  const known = layouts.get(trips) ?? [];
  layouts.set(trips, known);
  const at = known.findIndex(
    (layout) =>
      layout.catalogue === catalogue &&
      layout.settings === settings &&
      layout.horizon === horizon &&
      layout.text === text,
  );
  const own: Layout = known[at] ?? { catalogue, settings, horizon, text, chains: new Map(), ways: new Map() };
  if (at >= 0) known.splice(at, 1);
  else if (known.length >= MOST_LAYOUTS) known.pop();
  known.unshift(own);
  if (own.chains.size > MOST_CHAINS || own.ways.size > MOST_CHAINS) {
    own.chains.clear();
    own.ways.clear();
  }
  return own;
}

/** All that a chain is built from of rows, by the numbers that it is written down with. */
function layoutText({ index, rows, trips, siteNumbers }: ModeRequest): string {
  let text = `${entries(index.slowness)}\n${entries(siteNumbers)}\n`;
  for (const { number, row } of trips.values()) text += `${number} ${row},`;
  for (const site of rows.values()) text += siteText(site);
  return text;
}

function siteText({ site, shelves, decks, ...maps }: SiteRows): string {
  let text = `\n${site.id}`;
  for (const { row, fridge, heatRow, container, positions } of shelves)
    text += `\n${row} ${fridge.id} ${heatRow} ${container} ${positions.length}`;
  for (const { row, unit, tempC, panType, positions } of decks)
    text += `\n${row} ${unit} ${tempC} ${panType} ${positions}`;
  const { crew, mixers, benches, kettles, proofers, racks, pans, tubs } = maps;
  for (const map of [crew, mixers, benches, kettles, proofers, racks, pans, tubs]) text += `\n${entries(map)}`;
  return text;
}

function entries(map: ReadonlyMap<string, number>): string {
  let text = "";
  for (const [key, value] of map) text += `${key} ${value},`;
  return text;
}
