import type {
  Batch,
  BoilStep,
  DayDocuments,
  Dough,
  Fridge,
  Ingredient,
  Kettle,
  Load,
  PanType,
  Product,
  Route,
  Shelf,
  Site,
  StandingStep,
  Task,
  Timetable,
  TubType,
} from "../../schemas/index.js";
import { type Bath, bathOf, type Filling, fillingsOf, isLye, isWetWithLye } from "../baths.js";
import { formatInstant, parseInstant } from "../calendar.js";
import { carriedFrom, carriedOn } from "../carried.js";
import { type Cleaning, cleaningsAt, cleaningWhy } from "../cleanings.js";
import { LocalClock } from "../local-clock.js";
import { stationsOf } from "../stations.js";

function byId<T extends { readonly id: string }>(items: readonly T[]): ReadonlyMap<string, T> {
  return new Map(items.map((item) => [item.id, item]));
}

/** A day and its timetable, looked up. Everything is taken to be schema-valid and checked; what is missing gives its id as name. */
export class Book {
  readonly day: DayDocuments;
  readonly timetable: Timetable;
  readonly sites: ReadonlyMap<string, Site>;
  readonly products: ReadonlyMap<string, Product>;
  readonly doughs: ReadonlyMap<string, Dough>;
  readonly ingredients: ReadonlyMap<string, Ingredient>;
  readonly panTypes: ReadonlyMap<string, PanType>;
  readonly tubTypes: ReadonlyMap<string, TubType>;
  readonly batches: ReadonlyMap<string, Batch>;
  readonly loads: ReadonlyMap<string, Load>;
  private readonly ofLoad = new Map<string, Task[]>();
  private readonly clocks = new Map<string, LocalClock>();
  private readonly fillingsKnown = new Map<string, readonly Filling[]>();
  private readonly cleaningsKnown = new Map<string, readonly Cleaning[]>();
  private readonly rests: ReadonlyMap<string, Task>;

  constructor(day: DayDocuments, timetable: Timetable) {
    this.day = day;
    this.timetable = timetable;
    this.sites = byId(day.network.sites);
    this.products = byId(day.catalogue.products);
    this.doughs = byId(day.catalogue.doughs);
    this.ingredients = byId(day.catalogue.ingredients);
    this.panTypes = byId(day.network.panTypes);
    this.tubTypes = byId(day.network.tubTypes);
    this.batches = byId(timetable.batches);
    this.loads = byId(timetable.loads);
    this.rests = carriedOn(timetable.tasks);
    for (const task of this.tasks(() => true)) {
      if (task.load === undefined) continue;
      const list = this.ofLoad.get(task.load);
      if (list) list.push(task);
      else this.ofLoad.set(task.load, [task]);
    }
  }

  /** In order of start, then of id. */
  tasks(wanted: (task: Task) => boolean): Task[] {
    return this.timetable.tasks
      .filter(wanted)
      .sort((a, b) => this.minute(a.start) - this.minute(b.start) || (a.id < b.id ? -1 : 1));
  }

  tasksOfLoad(load: string): readonly Task[] {
    return this.ofLoad.get(load) ?? [];
  }

  taskOfLoad(load: string, does: Task["does"]): Task | undefined {
    return this.tasksOfLoad(load).find((task) => task.does === does);
  }

  /** What goes on elsewhere with what a task left unfinished, as its place failed. */
  restOf(task: Task): Task | undefined {
    return this.rests.get(task.id);
  }

  /** What a task goes on with, when it does. */
  firstOf(task: Task): Task | undefined {
    const id = carriedFrom(task);
    return id === undefined ? undefined : this.tasksOfLoad(task.load ?? "").find((other) => other.id === id);
  }

  mixOf(batch: string): Task | undefined {
    return this.timetable.tasks.find((task) => task.does === "mix" && task.batch === batch);
  }

  loadsOf(batch: string): Load[] {
    return this.timetable.loads.filter((load) => load.batch === batch);
  }

  load(id: string | undefined): Load | undefined {
    return this.loads.get(id ?? "");
  }

  product(load: Load): Product {
    return this.products.get(load.product)!;
  }

  productName(load: Load): string {
    return this.products.get(load.product)?.name ?? load.product;
  }

  route(load: Load): Route | undefined {
    return this.product(load).routes.find((route) => route.id === load.route);
  }

  boilStep(load: Load): BoilStep | undefined {
    return this.route(load)?.steps.find((step): step is BoilStep => step.does === "boil");
  }

  standingStep(load: Load, does: StandingStep["does"]): StandingStep | undefined {
    return this.route(load)?.steps.find((step): step is StandingStep => step.does === does);
  }

  doughOf(load: Load): Dough {
    return this.doughs.get(this.product(load).dough)!;
  }

  /** A kettle by its unit. */
  kettle(unit: string | undefined): Kettle | undefined {
    const [siteId, id] = (unit ?? "").split("/");
    return this.sites.get(siteId!)?.kettles.find((kettle) => kettle.id === id);
  }

  /** Whenever a kettle is filled, in order of time. */
  fillings(unit: string): readonly Filling[] {
    const known = this.fillingsKnown.get(unit);
    if (known) return known;
    const kettle = this.kettle(unit);
    const program = this.timetable.kettleProgram.find((entry) => entry.kettle === unit);
    const tasks = this.tasks((task) => task.unit === unit);
    const found = kettle ? fillingsOf(kettle, program, tasks, (task) => this.stepOfBoil(task)) : [];
    this.fillingsKnown.set(unit, found);
    return found;
  }

  private stepOfBoil(task: Task): BoilStep | undefined {
    const load = this.load(task.load);
    return load && this.products.has(load.product) ? this.boilStep(load) : undefined;
  }

  /** What a cleaning of a kettle is followed by. */
  filling(task: Task): Filling | undefined {
    if (task.does !== "clean" || !this.kettle(task.unit)) return undefined;
    return this.fillings(task.unit!).find((filling) => filling.task === task);
  }

  /** Does whoever does it meet lye: boils in it, makes or empties a bath of it, or has wet pieces in hand? */
  meetsLye(task: Task): boolean {
    const load = this.load(task.load);
    if (load && this.products.has(load.product) && isWetWithLye(this.route(load), task.does)) return true;
    if (!this.kettle(task.unit)) return false;
    return this.fillings(task.unit!).some(
      (filling) =>
        (filling.task === task || (filling.kind === "unplanned" && filling.start === task.start)) &&
        (isLye(filling.before) || isLye(filling.bath)),
    );
  }

  /** Why a cleaning is there: "after Seeded loaf (Sesame), before Plain loaf". Empty for other tasks. */
  whyClean(task: Task): string {
    if (task.does !== "clean" || task.unit === undefined) return "";
    let known = this.cleaningsKnown.get(task.unit);
    if (!known) {
      known = cleaningsAt(this.day, this.timetable, task.unit);
      this.cleaningsKnown.set(task.unit, known);
    }
    const cleaning = known.find((one) => one.task === task);
    return cleaning ? cleaningWhy(cleaning) : "";
  }

  /** What a boil is in. */
  bath(task: Task): Bath | undefined {
    const kettle = this.kettle(task.unit);
    const step = task.does === "boil" ? this.stepOfBoil(task) : undefined;
    return kettle && step ? bathOf(kettle, step) : undefined;
  }

  minute(instant: string): number {
    return (parseInstant(instant) ?? 0) / 60;
  }

  /** An instant so many minutes later, with the site's offset. */
  later(instant: string, minutes: number, site: Site): string {
    return formatInstant(Math.floor(this.minute(instant) + minutes), site.timeZone);
  }

  /** HH:MM of the site's clock, with its offset on a day on which the clocks change. */
  clock(instant: string, site: Site): string {
    let clock = this.clocks.get(site.timeZone);
    if (!clock) {
      const { from, to } = this.timetable.window;
      clock = new LocalClock(site.timeZone, { fromMinute: this.minute(from), toMinute: this.minute(to) });
      this.clocks.set(site.timeZone, clock);
    }
    return clock.time(Math.floor(this.minute(instant)));
  }

  /** Name of the station: "Deck oven east, deck-1". */
  unitName(unit: string): string {
    const [siteId, id, part] = unit.split("/");
    const site = this.sites.get(siteId!);
    const stations = site ? stationsOf(site) : [];
    const name = stations.find((station) => station.id === id)?.name ?? id ?? unit;
    return part === undefined ? name : `${name}, ${part}`;
  }

  crewName(site: Site, group: string): string {
    return site.crew.find((candidate) => candidate.id === group)?.name ?? group;
  }

  shelf(unit: string): { fridge: Fridge; shelf: Shelf } | undefined {
    const [siteId, fridgeId, shelfId] = unit.split("/");
    const fridge = this.sites.get(siteId!)?.fridges.find((candidate) => candidate.id === fridgeId);
    const shelf = fridge?.shelves.find((candidate) => candidate.id === shelfId);
    return fridge && shelf ? { fridge, shelf } : undefined;
  }

  /** "40 Plain ring", and that it was thrown away when it was. */
  what(load: Load): string {
    return `${load.pieces} ${this.productName(load)}${load.scrapped ? ", THROWN AWAY" : ""}`;
  }

  /** Where a task's items stand: "walk-in: shelf-2 (1-3), shelf-3 (1)", "rack-row (4 5)". */
  places(task: Task): string {
    const byUnit = new Map<string, number[]>();
    for (const { unit, position } of task.places ?? []) byUnit.set(unit, [...(byUnit.get(unit) ?? []), position]);
    const byStation = new Map<string, string[]>();
    for (const [unit, positions] of byUnit) {
      const [, station, part] = unit.split("/");
      const shown = part === undefined ? runs(positions) : `${part} (${runs(positions)})`;
      byStation.set(station!, [...(byStation.get(station!) ?? []), shown]);
    }
    return [...byStation].map(([station, shown]) => `${station}: ${shown.join(", ")}`).join("; ");
  }

  /** Ingredients of a dough. */
  doughIngredients(dough: Dough): string[] {
    return dough.formula.map((line) => line.ingredient);
  }

  productIngredients(product: Product): string[] {
    const dough = this.doughs.get(product.dough);
    return [...(dough ? this.doughIngredients(dough) : []), ...(product.toppings ?? []).map((top) => top.ingredient)];
  }

  /** Allergens of ingredients by name, with the cereals and nuts they stand for: "Cereals with gluten (wheat, rye)". */
  allergens(ingredients: Iterable<string>): string[] {
    const details = new Map<string, Set<string>>();
    for (const id of ingredients) {
      const ingredient = this.ingredients.get(id);
      for (const allergen of ingredient?.allergens ?? []) {
        const known = details.get(allergen) ?? new Set<string>();
        if (ingredient!.allergenDetail !== undefined) known.add(ingredient!.allergenDetail);
        details.set(allergen, known);
      }
    }
    return this.day.catalogue.allergens
      .filter(({ id }) => details.has(id))
      .map(({ id, name }) => {
        const known = [...details.get(id)!].sort();
        return known.length > 0 ? `${name} (${known.join(", ")})` : name;
      });
  }

  allergensOfLoads(loads: Iterable<Load>): string[] {
    const ids = new Set<string>();
    for (const load of loads) for (const id of this.productIngredients(this.product(load))) ids.add(id);
    return this.allergens(ids);
  }
}

/** Positions in rising order, runs joined: 1-4 7. */
export function runs(positions: readonly number[]): string {
  const sorted = [...positions].sort((a, b) => a - b);
  const parts: string[] = [];
  let from = 0;
  for (let i = 0; i < sorted.length; i++) {
    if (i + 1 < sorted.length && sorted[i + 1] === sorted[i]! + 1) continue;
    const first = sorted[from]!;
    const last = sorted[i]!;
    parts.push(last - first >= 2 ? `${first}-${last}` : last === first ? `${first}` : `${first} ${last}`);
    from = i + 1;
  }
  return parts.join(" ");
}
