import type {
  Batch,
  Catalogue,
  DayDocuments,
  Dough,
  Kettle,
  Load,
  Mixer,
  Oven,
  PanType,
  Product,
  Route,
  Site,
  Step,
  Task,
  Timetable,
  TubType,
  VanRun,
} from "../../schemas/index.js";
import type { Report } from "./breach.js";
import { dateStamp, instantSeconds, midnights, wallAt, whenMinute } from "./time.js";
import { type BegunFact, begunFacts, toldLines, tripDelay } from "./told.js";

/** A task with its times as epoch minutes (NaN where malformed). */
export interface TaskFact {
  readonly task: Task;
  readonly start: number;
  readonly end: number;
}

export interface TripFact {
  readonly id: string;
  readonly run: VanRun;
  readonly departs: number;
  readonly arrives: number;
}

/** A load with everything that belongs to it, as far as the references hold. */
export interface LoadFact {
  readonly load: Load;
  readonly product: Product;
  readonly dough: Dough;
  readonly route: Route;
  readonly batch: Batch;
  readonly mix: TaskFact | null;
  /** Its tasks in order of start. */
  readonly tasks: readonly TaskFact[];
}

/** The raw documents and the timetable, looked up. Nothing is taken from the solver. */
export interface Facts {
  readonly day: DayDocuments;
  readonly timetable: Timetable;
  readonly report: Report;
  readonly from: number;
  readonly to: number;
  readonly sites: ReadonlyMap<string, Site>;
  readonly products: ReadonlyMap<string, Product>;
  readonly doughs: ReadonlyMap<string, Dough>;
  readonly panTypes: ReadonlyMap<string, PanType>;
  readonly tubTypes: ReadonlyMap<string, TubType>;
  readonly batches: ReadonlyMap<string, Batch>;
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
}

export function byId<T extends { readonly id: string }>(items: readonly T[]): ReadonlyMap<string, T> {
  const map = new Map<string, T>();
  for (const item of items) map.set(item.id, item);
  return map;
}

/** Of two with one id the first counts. */
export function firstById<T extends { readonly id: string }>(items: readonly T[]): ReadonlyMap<string, T> {
  const map = new Map<string, T>();
  for (const item of items) if (!map.has(item.id)) map.set(item.id, item);
  return map;
}

function tripsOf(
  day: DayDocuments,
  sites: ReadonlyMap<string, Site>,
  from: number,
  to: number,
): ReadonlyMap<string, TripFact> {
  const trips = new Map<string, TripFact>();
  for (const run of day.network.vanRuns) {
    const zone = sites.get(run.from)?.timeZone;
    if (zone === undefined) continue;
    for (const midnight of midnights(run.days, zone, from, to)) {
      const id = `${run.id}-${dateStamp(midnight)}`;
      const departs = wallAt(midnight, run.departs, zone) + tripDelay(day, id);
      trips.set(id, { id, run, departs, arrives: departs + run.travelMinutes });
    }
  }
  return trips;
}

export function inOrder(a: TaskFact, b: TaskFact): number {
  return a.start - b.start || a.end - b.end;
}

/** Tasks with their times, by id, kind, batch and load; of two with one id the first counts. */
function sortedTasks(timetable: Timetable) {
  const tasks: TaskFact[] = [];
  const mixes = new Map<string, TaskFact>();
  const ofLoad = new Map<string, TaskFact[]>();
  const tasksById = new Map<string, TaskFact>();
  const tasksByKind = new Map<Task["does"], TaskFact[]>();
  for (const task of timetable.tasks) {
    const fact = { task, start: instantSeconds(task.start) / 60, end: instantSeconds(task.end) / 60 };
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

export function gatherFacts(documents: DayDocuments, timetable: Timetable, report: Report): Facts {
  const day = { ...documents, orders: { ...documents.orders, lines: toldLines(documents) } };
  const sites = byId(day.network.sites);
  const products = byId(day.catalogue.products);
  const doughs = byId(day.catalogue.doughs);
  const batches = byId(timetable.batches);
  const zone = day.network.sites[0]!.timeZone;
  const from = whenMinute(day.settings.window.from, zone);
  const to = whenMinute(day.settings.window.to, zone);
  const at = day.happenings.at === undefined ? null : whenMinute(day.happenings.at, zone);
  const { tasks, mixes, ofLoad, tasksById, tasksByKind } = sortedTasks(timetable);
  const loads: LoadFact[] = [];
  for (const load of timetable.loads) {
    const product = products.get(load.product);
    const route = product?.routes.find((candidate) => candidate.id === load.route);
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
    const own = (ofLoad.get(load.id) ?? []).sort(inOrder);
    loads.push({ load, product, dough, route, batch, mix: mixes.get(batch.id) ?? null, tasks: own });
  }
  const trips = tripsOf(day, sites, from, to);
  const rides = new Map(
    [...trips].map(([id, { departs, arrives, run }]) => [
      id,
      { from: departs - run.loadMinutes, to: arrives + run.unloadMinutes },
    ]),
  );
  return {
    day,
    timetable,
    report,
    from,
    to,
    sites,
    products,
    doughs,
    batches,
    tasks,
    tasksById,
    tasksByKind,
    before: firstById(day.inForce?.tasks ?? []),
    loads,
    loadsById: loadsById(loads),
    panTypes: byId(day.network.panTypes),
    tubTypes: byId(day.network.tubTypes),
    trips,
    at,
    begun: at === null ? new Map() : begunFacts(day, sites, at, rides),
  };
}

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

/** The boil or bake of a route. */
export function stepOf<D extends "boil" | "bake">(route: Route, does: D): Extract<Step, { does: D }> | undefined {
  return route.steps.find((step): step is Extract<Step, { does: D }> => step.does === does);
}

/** When the load's last step ends, and when it is delivered; NaN when tasks are missing. */
export function readyTimes(load: LoadFact): { finished: number; delivered: number } {
  let finished = Number.NEGATIVE_INFINITY;
  for (const { task, end } of load.tasks) if (task.does !== "van") finished = Math.max(finished, end);
  if (finished === Number.NEGATIVE_INFINITY) finished = Number.NaN;
  const van = load.load.handOver === "baked" ? taskOf(load, "van") : undefined;
  return { finished, delivered: van ? van.end : finished };
}

export function retardKind(route: Route): "tubs" | "pans" | null {
  const retard = route.steps.findIndex((step) => step.does === "retard");
  if (retard < 0) return null;
  return retard < route.steps.findIndex((step) => step.does === "shape") ? "tubs" : "pans";
}

/** Station of a unit reference: the mixer, bench, kettle, oven ... with that id at its site. */
export function mixerAt(facts: Facts, unit: string | undefined): Mixer | undefined {
  const [site, id] = (unit ?? "").split("/");
  return facts.sites.get(site!)?.mixers.find((mixer) => mixer.id === id);
}

export function kettleAt(facts: Facts, unit: string | undefined): Kettle | undefined {
  const [site, id] = (unit ?? "").split("/");
  return facts.sites.get(site!)?.kettles.find((kettle) => kettle.id === id);
}

export function ovenAt(facts: Facts, unit: string | undefined): { oven: Oven; deckIndex: number } | undefined {
  const [site, ovenId, deckId] = (unit ?? "").split("/");
  const oven = facts.sites.get(site!)?.ovens.find((candidate) => candidate.id === ovenId);
  const deckIndex = oven ? oven.decks.findIndex((deck) => deck.id === deckId) : -1;
  return oven && deckIndex >= 0 ? { oven, deckIndex } : undefined;
}

const allergensKnown = new WeakMap<Facts, WeakMap<object, Set<string>>>();

/** Worked out once for each dough and product of a timetable. */
function remembered(facts: Facts, of: object, work: () => Set<string>): Set<string> {
  const known = allergensKnown.get(facts) ?? new WeakMap<object, Set<string>>();
  allergensKnown.set(facts, known);
  const found = known.get(of) ?? work();
  known.set(of, found);
  return found;
}

function ingredientAllergens(catalogue: Catalogue, ids: readonly string[]): Set<string> {
  const found = new Set<string>();
  for (const ingredient of catalogue.ingredients) {
    if (ids.includes(ingredient.id)) for (const allergen of ingredient.allergens ?? []) found.add(allergen);
  }
  return found;
}

export function doughAllergens(facts: Facts, dough: Dough): Set<string> {
  return remembered(facts, dough, () =>
    ingredientAllergens(
      facts.day.catalogue,
      dough.formula.map((line) => line.ingredient),
    ),
  );
}

export function productAllergens(facts: Facts, product: Product, dough: Dough): Set<string> {
  return remembered(facts, product, () =>
    ingredientAllergens(facts.day.catalogue, [
      ...dough.formula.map((line) => line.ingredient),
      ...(product.toppings ?? []).map((topping) => topping.ingredient),
    ]),
  );
}

/** An epoch minute as UTC text, for messages. */
export function clockText(minute: number): string {
  return Number.isFinite(minute)
    ? new Date(minute * 60_000).toISOString().slice(0, 16).concat("Z")
    : "an unreadable time";
}
