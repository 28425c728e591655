import type {
  Batch,
  DayDocuments,
  Load,
  OrderLine,
  OrderOutcome,
  Product,
  Site,
  Step,
  Task,
  Timetable,
} from "../../../schemas/index.js";
import { linesAsTold } from "../../../solver/problem/told.js";
import { stationsOf } from "../../../solver/stations.js";
import { msOf, type Span } from "./clock.js";
import { type Pin, pinsOf } from "./pins.js";

/** A task with its instants as numbers. */
export interface PlannedTask {
  readonly task: Task;
  readonly id: string;
  readonly site: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly load: Load | undefined;
  readonly batch: Batch | undefined;
  readonly product: Product | undefined;
  readonly dough: string | undefined;
}

/** A day and its timetable, indexed for display. Built once per timetable; nothing in it changes. */
export interface Plan {
  readonly day: DayDocuments;
  readonly timetable: Timetable;
  readonly span: Span;
  readonly tasks: readonly PlannedTask[];
  readonly byId: ReadonlyMap<string, PlannedTask>;
  readonly byLoad: ReadonlyMap<string, readonly PlannedTask[]>;
  readonly mixOf: ReadonlyMap<string, PlannedTask>;
  readonly loads: ReadonlyMap<string, Load>;
  readonly batches: ReadonlyMap<string, Batch>;
  readonly products: ReadonlyMap<string, Product>;
  readonly sites: ReadonlyMap<string, Site>;
  readonly lines: ReadonlyMap<string, OrderLine>;
  readonly outcomes: ReadonlyMap<string, OrderOutcome>;
  readonly doughNames: ReadonlyMap<string, string>;
  /** Tasks that stay where they are when the day is drawn up or repaired again. */
  readonly pins: ReadonlyMap<string, Pin>;
}

const byKey = <T>(items: readonly T[], key: (item: T) => string): Map<string, T> =>
  new Map(items.map((item) => [key(item), item]));

export function readPlan(day: DayDocuments, timetable: Timetable): Plan {
  const loads = byKey(timetable.loads, (load) => load.id);
  const batches = byKey(timetable.batches, (batch) => batch.id);
  const products = byKey(day.catalogue.products, (product) => product.id);
  const tasks = timetable.tasks.map((task): PlannedTask => {
    const load = loads.get(task.load ?? "");
    const batch = batches.get(task.batch ?? load?.batch ?? "");
    return {
      task,
      id: task.id,
      site: task.site,
      fromMs: msOf(task.start),
      toMs: msOf(task.end),
      load,
      batch,
      product: products.get(load?.product ?? ""),
      dough: batch?.dough,
    };
  });
  tasks.sort((a, b) => a.fromMs - b.fromMs || a.toMs - b.toMs);
  const byLoad = new Map<string, PlannedTask[]>();
  const mixOf = new Map<string, PlannedTask>();
  for (const task of tasks) {
    if (task.load) {
      const own = byLoad.get(task.load.id);
      if (own) own.push(task);
      else byLoad.set(task.load.id, [task]);
    } else if (task.task.does === "mix" && task.batch) mixOf.set(task.batch.id, task);
  }
  return {
    day,
    timetable,
    span: { fromMs: msOf(timetable.window.from), toMs: msOf(timetable.window.to) },
    tasks,
    byId: byKey(tasks, (task) => task.id),
    byLoad,
    mixOf,
    loads,
    batches,
    products,
    sites: byKey(day.network.sites, (site) => site.id),
    // What was cancelled is still spoken of.
    lines: byKey([...day.orders.lines, ...linesAsTold(day)], (line) => line.id),
    outcomes: byKey(timetable.orders, (order) => order.line),
    pins: pinsOf(day.happenings),
    doughNames: new Map(day.catalogue.doughs.map((dough) => [dough.id, dough.name])),
  };
}

export function zoneOf(plan: Plan, site: string): string {
  return plan.sites.get(site)?.timeZone ?? "UTC";
}

/** The name of a unit as people say it: "Deck oven east, deck-1". */
export function unitName(plan: Plan, ref: string | undefined): string {
  const [siteId, unitId, part] = (ref ?? "").split("/");
  const site = plan.sites.get(siteId ?? "");
  if (!site) return ref ?? "";
  const name = stationsOf(site).find((unit) => unit.id === unitId)?.name ?? unitId ?? "";
  return part ? `${name}, ${part.replace(/-/g, " ")}` : name;
}

/** What the solver says with the ids of units ("weir-yard/oven-1/deck-2"), said with their names. */
export function withNames(plan: Plan, text: string): string {
  return text.replace(/[a-z0-9-]+(?:\/[a-z0-9-]+){1,2}/g, (ref) => {
    const [siteId, unitId] = ref.split("/");
    const site = plan.sites.get(siteId!);
    return site && stationsOf(site).some(({ id }) => id === unitId) ? unitName(plan, ref) : ref;
  });
}

/** Where a task stands: its unit, or the unit of its places. */
export function whereOf(plan: Plan, task: Task): string {
  if (task.unit) return unitName(plan, task.unit);
  const units = [...new Set((task.places ?? []).map((place) => place.unit))];
  if (units.length > 0)
    return units.length > 2
      ? `${unitName(plan, units[0])} and ${units.length - 1} more`
      : units.map((unit) => unitName(plan, unit)).join(" and ");
  if (task.van) {
    const trip = plan.timetable.vans.find((van) => van.id === task.van);
    return plan.day.network.vanRuns.find((run) => run.id === trip?.run)?.name ?? task.van;
  }
  return "";
}

export const DOES: Readonly<Record<Task["does"], string>> = {
  mix: "Mix",
  rest: "Rest",
  retard: "Retard",
  temper: "Temper",
  shape: "Shape",
  proof: "Proof",
  boil: "Boil",
  top: "Top",
  bake: "Bake",
  cool: "Cool",
  pack: "Pack",
  van: "Van",
  clean: "Clean",
};

/** "16 Baton", "Rye dough 34.7 kg", "Clean". */
export function whatOf(plan: Plan, task: PlannedTask): string {
  if (task.load) return `${task.load.pieces} ${task.product?.name ?? task.load.product}`;
  if (task.task.does === "mix" && task.batch)
    return `${plan.doughNames.get(task.batch.dough) ?? task.batch.dough} ${(task.batch.massG / 1000).toFixed(1)} kg`;
  return DOES[task.task.does];
}

/** A load's tasks from tub to van, its batch's mix first. */
export function wayOf(plan: Plan, loadId: string): PlannedTask[] {
  const own = plan.byLoad.get(loadId) ?? [];
  const mix = plan.mixOf.get(plan.loads.get(loadId)?.batch ?? "");
  return mix ? [mix, ...own] : [...own];
}

/** The route's step that a task does, for its limits. */
export function stepOf(task: PlannedTask): Step | undefined {
  const route = task.product?.routes.find((candidate) => candidate.id === task.load?.route);
  const retardAtEnd = task.task.does === "retard";
  return route?.steps.find((step) => step.does === task.task.does || (retardAtEnd && step.does === "retard"));
}
