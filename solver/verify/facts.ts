import type {
  Batch,
  DayDocuments,
  Deck,
  Dough,
  Kettle,
  Load,
  Mixer,
  OrderLine,
  OrderOutcome,
  Oven,
  PanType,
  Product,
  Route,
  Site,
  Task,
  Timetable,
  TubType,
} from "../../schemas/index.js";
import type { Report } from "./breach.js";
import { lastById } from "./by-id.js";
import { type CatalogueFacts, catalogueFacts, type RouteFacts, routeFacts, routeOf } from "./catalogue-facts.js";
import { inForceFacts, readTask, type TaskFact } from "./in-force.js";
import { ordered } from "./sweep.js";
import { whenMinute } from "./time.js";
import { type BegunFact, begunFacts, toldLines, waitingTold } from "./told.js";
import { type TripFact, tripsOf } from "./trips.js";
import { networkFacts, type Units } from "./units.js";

export type { TaskFact } from "./in-force.js";

/** A load with everything that belongs to it, as far as the references hold. */
export interface LoadFact {
  readonly load: Load;
  readonly product: Product;
  readonly dough: Dough;
  readonly route: Route;
  readonly way: RouteFacts;
  readonly batch: Batch;
  readonly mix: TaskFact | null;
  /** Its tasks in order of start. */
  readonly tasks: readonly TaskFact[];
  /** When its last step ends, and when it is delivered; NaN when tasks are missing. */
  readonly finished: number;
  readonly delivered: number;
}

/** An order line as it stands. */
export interface LineFact {
  readonly line: OrderLine;
  /** Epoch minute; undefined: its site does not exist. */
  readonly due: number | undefined;
}

/** The raw documents and the timetable, looked up. Nothing is taken from the solver. */
export interface Facts {
  readonly day: DayDocuments;
  readonly timetable: Timetable;
  readonly report: Report;
  readonly from: number;
  readonly to: number;
  readonly sites: ReadonlyMap<string, Site>;
  readonly units: Units;
  readonly catalogue: CatalogueFacts;
  readonly doughs: ReadonlyMap<string, Dough>;
  readonly panTypes: ReadonlyMap<string, PanType>;
  readonly tubTypes: ReadonlyMap<string, TubType>;
  readonly batches: ReadonlyMap<string, Batch>;
  /** Order lines and their outcomes by the line's id; of two with one id the last counts. */
  readonly lines: ReadonlyMap<string, LineFact>;
  readonly outcomes: ReadonlyMap<string, OrderOutcome>;
  readonly tasks: readonly TaskFact[];
  readonly tasksById: ReadonlyMap<string, TaskFact>;
  readonly tasksByKind: ReadonlyMap<Task["does"], readonly TaskFact[]>;
  /** Tasks of the timetable in force. */
  readonly before: ReadonlyMap<string, Task>;
  readonly loads: readonly LoadFact[];
  readonly loadsById: ReadonlyMap<string, LoadFact>;
  readonly trips: ReadonlyMap<string, TripFact>;
  /** Epoch minute at which things stand as told, and what of the timetable in force has begun by then; null without one. */
  readonly at: number | null;
  readonly begun: ReadonlyMap<string, BegunFact>;
  /** Tasks that were told not to have begun, and when they can: only while that is ahead. */
  readonly waiting: ReadonlyMap<string, number>;
}

export function inOrder(a: TaskFact, b: TaskFact): number {
  return a.start - b.start || a.end - b.end;
}

/** Tasks with their times, by id, kind, batch and load; of two with one id the first counts. `before`: those of the timetable in force, by id. */
function sortedTasks(timetable: Timetable, before: ReadonlyMap<string, TaskFact>) {
  const tasks: TaskFact[] = [];
  const mixes = new Map<string, TaskFact>();
  const ofLoad = new Map<string, TaskFact[]>();
  const tasksById = new Map<string, TaskFact>();
  const tasksByKind = new Map<Task["does"], TaskFact[]>();
  for (const task of timetable.tasks) {
    const known = before.get(task.id);
    // What did not change is the task of then, and was read then.
    const fact = known?.task === task ? known : readTask(task);
    tasks.push(fact);
    if (!tasksById.has(task.id)) tasksById.set(task.id, fact);
    addTo(tasksByKind, task.does, fact);
    if (task.does === "mix" && task.batch !== undefined) mixes.set(task.batch, fact);
    if (task.load !== undefined) addTo(ofLoad, task.load, fact);
  }
  return { tasks, mixes, ofLoad, tasksById, tasksByKind };
}

function addTo<K, T>(lists: Map<K, T[]>, key: K, item: T): void {
  const list = lists.get(key);
  if (list) list.push(item);
  else lists.set(key, [item]);
}

function linesOf(lines: readonly OrderLine[], sites: ReadonlyMap<string, Site>): ReadonlyMap<string, LineFact> {
  const found = new Map<string, LineFact>();
  for (const line of lines) {
    const zone = sites.get(line.site)?.timeZone;
    found.set(line.id, { line, due: zone === undefined ? undefined : whenMinute(line.due, zone) });
  }
  return found;
}

/** Epoch minute at which a line is due; undefined: its site does not exist. */
export function dueOf({ lines, sites }: Facts, line: OrderLine): number | undefined {
  const fact = lines.get(line.id);
  if (fact?.line === line) return fact.due;
  // Another with the same id counts for what is looked up.
  const zone = sites.get(line.site)?.timeZone;
  return zone === undefined ? undefined : whenMinute(line.due, zone);
}

function outcomesOf({ orders }: Timetable): ReadonlyMap<string, OrderOutcome> {
  const found = new Map<string, OrderOutcome>();
  for (const order of orders) found.set(order.line, order);
  return found;
}

/** When the last step of a load ends; NaN when it has none. */
function finishedAt(tasks: readonly TaskFact[]): number {
  let finished = Number.NEGATIVE_INFINITY;
  for (const { task, end } of tasks) if (task.does !== "van") finished = Math.max(finished, end);
  return finished === Number.NEGATIVE_INFINITY ? Number.NaN : finished;
}

function rideEnd(tasks: readonly TaskFact[]): number | undefined {
  for (const { task, end } of tasks) if (task.does === "van") return end;
  return undefined;
}

const NO_TASKS: readonly TaskFact[] = [];

/** The loads whose references hold; the others are told. */
function loadsOf(
  timetable: Timetable,
  sites: ReadonlyMap<string, Site>,
  { products, doughs }: CatalogueFacts,
  batches: ReadonlyMap<string, Batch>,
  { mixes, ofLoad }: Pick<ReturnType<typeof sortedTasks>, "mixes" | "ofLoad">,
  report: Report,
): LoadFact[] {
  const loads: LoadFact[] = [];
  for (const load of timetable.loads) {
    const product = products.get(load.product);
    const route = routeOf(product, load.route);
    const dough = product ? doughs.get(product.dough) : undefined;
    const batch = batches.get(load.batch);
    const known =
      product &&
      route &&
      dough &&
      batch &&
      sites.has(load.bakedAt) &&
      sites.has(load.deliveredTo) &&
      sites.has(batch.site);
    if (!known) {
      report.add(
        "form",
        "unknown-reference",
        `load ${load.id} names a product, route, batch or site that does not exist`,
      );
      continue;
    }
    const own = ofLoad.get(load.id);
    const tasks = own ? ordered(own, inOrder) : NO_TASKS;
    const finished = finishedAt(tasks);
    const delivered = load.handOver === "baked" ? (rideEnd(tasks) ?? finished) : finished;
    const mix = mixes.get(batch.id) ?? null;
    const way = routeFacts(route);
    loads.push({ load, product, dough, route, way, batch, mix, tasks, finished, delivered });
  }
  return loads;
}

export function gatherFacts(documents: DayDocuments, timetable: Timetable, report: Report): Facts {
  const day = { ...documents, orders: { ...documents.orders, lines: toldLines(documents) } };
  const { sites, units, panTypes, tubTypes } = networkFacts(day.network);
  const catalogue = catalogueFacts(day.catalogue);
  const batches = lastById(timetable.batches);
  const zone = day.network.sites[0]!.timeZone;
  const from = whenMinute(day.settings.window.from, zone);
  const to = whenMinute(day.settings.window.to, zone);
  const at = day.happenings.at === undefined ? null : whenMinute(day.happenings.at, zone);
  const before = day.inForce && inForceFacts(day.inForce);
  const { tasks, mixes, ofLoad, tasksById, tasksByKind } = sortedTasks(timetable, before?.facts ?? NO_FACTS);
  const loads = loadsOf(timetable, sites, catalogue, batches, { mixes, ofLoad }, report);
  const { trips, rides } = tripsOf(day, sites, from, to);
  return {
    day,
    timetable,
    report,
    from,
    to,
    sites,
    units,
    catalogue,
    doughs: catalogue.doughs,
    batches,
    lines: linesOf(day.orders.lines, sites),
    outcomes: outcomesOf(timetable),
    tasks,
    tasksById,
    tasksByKind,
    before: before?.tasks ?? NOTHING_BEFORE,
    loads,
    loadsById: loadsById(loads),
    panTypes,
    tubTypes,
    trips,
    at,
    begun: at === null ? new Map() : begunFacts(day, sites, at, rides, from),
    waiting: at === null ? new Map() : waitingTold(day, sites, at),
  };
}

const NO_FACTS: ReadonlyMap<string, TaskFact> = new Map();
const NOTHING_BEFORE: ReadonlyMap<string, Task> = new Map();

/** Of two with one id the last counts. */
function loadsById(loads: readonly LoadFact[]): ReadonlyMap<string, LoadFact> {
  const found = new Map<string, LoadFact>();
  for (const fact of loads) found.set(fact.load.id, fact);
  return found;
}

/** The tasks that do something, in the timetable's order. */
export function tasksThat(facts: Facts, does: Task["does"]): readonly TaskFact[] {
  return facts.tasksByKind.get(does) ?? [];
}

export function taskOf(load: LoadFact, does: Task["does"]): TaskFact | undefined {
  for (const fact of load.tasks) if (fact.task.does === does) return fact;
  return undefined;
}

/** Has the task begun, and is nothing of it left to decide? Then it is a fact, whatever the rules say. D21. */
export function isFact(facts: Facts, id: string): boolean {
  const begun = facts.begun.get(id);
  if (!begun || facts.at === null) return false;
  if (begun.end !== null) return true;
  const now = facts.tasksById.get(id);
  return now !== undefined && now.end <= facts.at;
}

/** Station of a unit reference: the mixer, kettle, oven ... with that id at its site. */
export function mixerAt(facts: Facts, unit: string | undefined): Mixer | undefined {
  return unit === undefined ? undefined : facts.units.at(unit).mixer;
}

export function kettleAt(facts: Facts, unit: string | undefined): Kettle | undefined {
  return unit === undefined ? undefined : facts.units.at(unit).kettle;
}

export function deckAt(facts: Facts, unit: string | undefined): { oven: Oven; deck: Deck } | undefined {
  if (unit === undefined) return undefined;
  const { oven, deck } = facts.units.at(unit);
  return oven && deck ? { oven, deck } : undefined;
}

/** Is the unit one of the site's? */
export function isAt(facts: Facts, unit: string | undefined, site: string): boolean {
  if (unit === undefined) return false;
  const { siteId, station } = facts.units.at(unit);
  return siteId === site && station !== siteId;
}

/** The allergens of a dough or product of the catalogue: the same set for the same ones. */
export function allergensOf({ catalogue }: Facts, of: Dough | Product): ReadonlySet<string> {
  return catalogue.allergens.get(of)!;
}

/** An epoch minute as UTC text, for messages. */
export function clockText(minute: number): string {
  return Number.isFinite(minute)
    ? new Date(minute * 60_000).toISOString().slice(0, 16).concat("Z")
    : "an unreadable time";
}
