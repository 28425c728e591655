import type {
  DayDocuments,
  Dough,
  Network,
  OrderLine,
  Orders,
  PanType,
  Product,
  Settings,
  Site,
  TubType,
  VanRun,
  Weights,
} from "../../schemas/index.js";
import { departures, resolveWhen, resolveWindow } from "../calendar.js";
import { asToldMinute, linesAsTold, loadedTrips, slowness, tripDelays } from "./told.js";

/** An order line with its times in minutes of the window. */
export interface Want {
  readonly line: OrderLine;
  /** What is to be planned of it; less than the line's when kept loads make some. */
  readonly pieces: number;
  readonly due: number;
  readonly freshWithinMinutes: number;
  readonly priority: number;
}

/** One departure of a van run inside the window. Minutes of the window. */
export interface TripTimes {
  readonly id: string;
  readonly run: VanRun;
  readonly departs: number;
  readonly arrives: number;
  /** When a load leaves its shelf or must be finished. */
  readonly leave: number;
  /** When a load is on its shelf or delivered. */
  readonly delivered: number;
}

export interface OutageTimes {
  readonly unit: string;
  readonly from: number;
  readonly to: number;
}

/** Positions numbered above `positions` are out of use for a while. */
export interface Shrinkage extends OutageTimes {
  readonly positions: number;
  /** From when nothing new is put there: a shelf is used until it is smaller, of all else nothing is from the instant on. D22. */
  readonly shutFrom: number;
}

/** A valid day, looked up by id, with every time resolved to minutes of its window. */
export interface DayIndex {
  readonly day: DayDocuments;
  /** Epoch minute of the window's start. */
  readonly origin: number;
  readonly horizon: number;
  readonly sites: ReadonlyMap<string, Site>;
  readonly products: ReadonlyMap<string, Product>;
  readonly doughs: ReadonlyMap<string, Dough>;
  readonly panTypes: ReadonlyMap<string, PanType>;
  readonly tubTypes: ReadonlyMap<string, TubType>;
  readonly wants: readonly Want[];
  /** Those that can be driven in the window, and those so late that they cannot but that have left or are loaded. */
  readonly trips: readonly TripTimes[];
  /** Told to be so late that they can be driven in the window no more, and neither left nor loaded. */
  readonly cancelled: readonly TripTimes[];
  readonly outages: readonly OutageTimes[];
  readonly shrinkages: readonly Shrinkage[];
  /** Minute at which things stand as told: what has started before stays. Null: nothing has. */
  readonly at: number | null;
  /** By unit: percent of the usual minutes. */
  readonly slowness: ReadonlyMap<string, number>;
  readonly weights: Required<Weights>;
  readonly maxPansPerLoad: number;
}

export const DEFAULT_WEIGHTS: Required<Weights> = {
  shortPerPiece: 20,
  latePerPieceHour: 1,
  earlyPerPieceHour: 0.01,
  freshForMinutes: 90,
  setpointChange: 1,
};
const DEFAULT_FRESH_WITHIN_MINUTES = 720;
const DEFAULT_MAX_PANS_PER_LOAD = 6;

function byId<T extends { readonly id: string }>(items: readonly T[]): ReadonlyMap<string, T> {
  return new Map(items.map((item) => [item.id, item]));
}

function minuteOf(when: string, timeZone: string, what: string): number {
  const resolved = resolveWhen(when, timeZone);
  if ("problem" in resolved) throw new RangeError(`${what} "${when}" is ${resolved.problem}; check the day first`);
  return resolved.minute;
}

/** Until further notice is until the end of the window. */
function outageTimes(
  day: DayDocuments,
  origin: number,
  horizon: number,
  sites: ReadonlyMap<string, Site>,
): OutageTimes[] {
  return day.happenings.happenings.flatMap((happening) => {
    if (happening.kind !== "out-of-service") return [];
    const zone = sites.get(happening.unit.split("/")[0]!)!.timeZone;
    const from = minuteOf(happening.from, zone, "outage from") - origin;
    const to = happening.to === undefined ? horizon : minuteOf(happening.to, zone, "outage to") - origin;
    const clipped = { unit: happening.unit, from: Math.max(0, from), to: Math.min(horizon, to) };
    return clipped.from < clipped.to ? [clipped] : [];
  });
}

function shrinkages(
  day: DayDocuments,
  { origin, horizon }: Window,
  sites: ReadonlyMap<string, Site>,
  at: number,
): Shrinkage[] {
  return day.happenings.happenings.flatMap((happening) => {
    if (happening.kind !== "smaller") return [];
    const { unit, positions } = happening;
    const site = sites.get(unit.split("/")[0]!)!;
    const from = Math.max(0, minuteOf(happening.from, site.timeZone, "smaller from") - origin);
    const told = happening.to === undefined ? horizon : minuteOf(happening.to, site.timeZone, "smaller to") - origin;
    const to = Math.min(horizon, told);
    const isShelf = site.fridges.some(({ id }) => isOf(unit, `${site.id}/${id}`));
    return from < to ? [{ unit, positions, from, to, shutFrom: isShelf ? Math.max(at, from) : at }] : [];
  });
}

interface Window {
  readonly origin: number;
  readonly horizon: number;
}

type Trips = Pick<DayIndex, "trips" | "cancelled">;

const punctual = new WeakMap<Network, Window & Trips>();

/** While no van is late, the trips of a network in a window are the same. */
function tripTimes(day: DayDocuments, window: Window, sites: ReadonlyMap<string, Site>, at: number | null): Trips {
  const { network } = day;
  const { origin, horizon } = window;
  const delays = tripDelays(day.happenings);
  if (delays.size > 0) return lateTrips(day, window, sites, at, delays);
  const known = punctual.get(network);
  if (known?.origin === origin && known.horizon === horizon) return known;
  const trips = tripsAnew(network, window, sites, delays).filter((trip) => isWithin(trip, horizon));
  const found = { origin, horizon, trips, cancelled: [] };
  punctual.set(network, found);
  return found;
}

function isWithin({ leave, delivered }: TripTimes, horizon: number): boolean {
  return leave >= 0 && delivered <= horizon;
}

/** D22: what is on a van that has left, or is loaded, arrives however late it is; any other can be driven in the window or not at all. */
function lateTrips(
  day: DayDocuments,
  window: Window,
  sites: ReadonlyMap<string, Site>,
  at: number | null,
  delays: ReadonlyMap<string, number>,
): Trips {
  const loaded = loadedTrips(day);
  const trips: TripTimes[] = [];
  const cancelled: TripTimes[] = [];
  for (const trip of tripsAnew(day.network, window, sites, delays)) {
    const isUnderWay = at !== null && (trip.leave < at || loaded.has(trip.id));
    if (isWithin(trip, window.horizon) || (isUnderWay && trip.leave >= 0 && delays.has(trip.id))) trips.push(trip);
    else if (delays.has(trip.id)) cancelled.push(trip);
  }
  return { trips, cancelled };
}

function tripsAnew(
  network: Network,
  { origin, horizon }: Window,
  sites: ReadonlyMap<string, Site>,
  delays: ReadonlyMap<string, number>,
): TripTimes[] {
  return network.vanRuns.flatMap((run) => {
    const zone = sites.get(run.from)!.timeZone;
    return departures(run, zone, { fromMinute: origin, toMinute: origin + horizon }).map(({ minute, date }) => {
      const departs = minute - origin + (delays.get(`${run.id}-${date}`) ?? 0);
      const arrives = departs + run.travelMinutes;
      return {
        id: `${run.id}-${date}`,
        run,
        departs,
        arrives,
        leave: departs - run.loadMinutes,
        delivered: arrives + run.unloadMinutes,
      };
    });
  });
}

function want(line: OrderLine, settings: Settings, origin: number, sites: ReadonlyMap<string, Site>): Want {
  return {
    line,
    pieces: line.pieces,
    due: minuteOf(line.due, sites.get(line.site)!.timeZone, `due of ${line.id}`) - origin,
    freshWithinMinutes: line.freshWithinMinutes ?? settings.freshWithinMinutes ?? DEFAULT_FRESH_WITHIN_MINUTES,
    priority: line.priority ?? 1,
  };
}

interface KnownWants {
  readonly settings: Settings;
  readonly network: Network;
  readonly origin: number;
  readonly byLine: WeakMap<OrderLine, Want>;
}

const wantsKnown = new WeakMap<Orders, KnownWants>();

/** What is wanted: of lines of which nothing is told the same objects each time that the day is posed. */
function wantsOf(day: DayDocuments, origin: number, sites: ReadonlyMap<string, Site>): Want[] {
  const { orders, settings, network } = day;
  let known = wantsKnown.get(orders);
  if (known?.settings !== settings || known.network !== network || known.origin !== origin) {
    known = { settings, network, origin, byLine: new WeakMap() };
    wantsKnown.set(orders, known);
  }
  const wants: Want[] = [];
  for (const line of linesAsTold(day)) {
    const own = known.byLine.get(line) ?? want(line, settings, origin, sites);
    known.byLine.set(line, own);
    wants.push(own);
  }
  return wants;
}

const indexes = new WeakMap<DayDocuments, DayIndex>();

/** Looks up and resolves a day that has passed its checks; throws RangeError on one that has not. Documents never change, so it is done once. */
export function indexDay(day: DayDocuments): DayIndex {
  let index = indexes.get(day);
  if (!index) {
    index = indexAnew(day);
    indexes.set(day, index);
  }
  return index;
}

function indexAnew(day: DayDocuments): DayIndex {
  const window = resolveWindow(day.settings, day.network);
  if ("problem" in window) throw new RangeError("the window does not resolve; check the day first");
  const origin = window.fromMinute;
  const horizon = window.toMinute - window.fromMinute;
  const sites = byId(day.network.sites);
  const toldAt = asToldMinute(day, sites);
  const at = toldAt === null ? null : Math.max(0, Math.min(horizon, toldAt - origin));
  return {
    day,
    origin,
    horizon,
    sites,
    products: byId(day.catalogue.products),
    doughs: byId(day.catalogue.doughs),
    panTypes: byId(day.network.panTypes),
    tubTypes: byId(day.network.tubTypes),
    at,
    slowness: slowness(day),
    shrinkages: shrinkages(day, { origin, horizon }, sites, at ?? 0),
    wants: wantsOf(day, origin, sites),
    ...tripTimes(day, { origin, horizon }, sites, at),
    outages: outageTimes(day, origin, horizon, sites),
    weights: { ...DEFAULT_WEIGHTS, ...day.settings.weights },
    maxPansPerLoad: day.settings.maxPansPerLoad ?? DEFAULT_MAX_PANS_PER_LOAD,
  };
}

/** Is a unit another one or a part of it? */
export function isOf(unit: string, whole: string): boolean {
  if (unit.length <= whole.length) return unit === whole;
  return unit.charCodeAt(whole.length) === SLASH && unit.startsWith(whole);
}

const SLASH = "/".charCodeAt(0);

/** Outages of the unit itself or of what it is part of. */
export function outagesOf(index: DayIndex, unit: string): OutageTimes[] {
  const met: OutageTimes[] = [];
  for (const outage of index.outages) if (isOf(unit, outage.unit)) met.push(outage);
  return met;
}
