import type { Batch, Catalogue, Load, Task, Timetable } from "../../schemas/index.js";
import { instantMinute } from "../calendar.js";

/** The timetable in force looked up: kept with it, for it is the same through a morning. */
export interface InForce {
  /** By load or batch id: all tasks that are its own. */
  readonly tasks: ReadonlyMap<string, readonly Task[]>;
  /** By load id, in order of time. */
  readonly chains: ReadonlyMap<string, readonly Task[]>;
  /** By batch id. */
  readonly mixes: ReadonlyMap<string, Task>;
  readonly batches: ReadonlyMap<string, Batch>;
  readonly loads: ReadonlyMap<string, Load>;
  readonly loadsOfBatch: ReadonlyMap<string, readonly Load[]>;
}

function addUnder<T>(lists: Map<string, T[]>, key: string, item: T): void {
  const list = lists.get(key);
  if (list) list.push(item);
  else lists.set(key, [item]);
}

const minutesKnown = new WeakMap<Task, Minutes>();

/** When a task starts and ends, in minutes since the epoch. */
export interface Minutes {
  readonly start: number;
  readonly end: number;
}

function readMinutes({ start, end }: Task): Minutes {
  return { start: instantMinute(start), end: instantMinute(end) };
}

/** Read once of each task of a timetable in force, for everybody asks: a text that is equal to a known one, but not the same, takes long to look up. */
export function minutesOf(task: Task): Minutes {
  return minutesKnown.get(task) ?? readMinutes(task);
}

const known = new WeakMap<Timetable, InForce>();
const NOTHING: InForce = {
  tasks: new Map(),
  chains: new Map(),
  mixes: new Map(),
  batches: new Map(),
  loads: new Map(),
  loadsOfBatch: new Map(),
};

export function inForceOf(timetable: Timetable | undefined): InForce {
  if (!timetable) return NOTHING;
  let inForce = known.get(timetable);
  if (!inForce) {
    inForce = lookUp(timetable);
    known.set(timetable, inForce);
  }
  return inForce;
}

function inOrder(a: Task, b: Task): number {
  return minutesOf(a).start - minutesOf(b).start || minutesOf(a).end - minutesOf(b).end;
}

function lookUp(timetable: Timetable): InForce {
  const tasks = new Map<string, Task[]>();
  const chains = new Map<string, Task[]>();
  const mixes = new Map<string, Task>();
  for (const task of timetable.tasks) {
    minutesKnown.set(task, readMinutes(task));
    const owner = task.load ?? task.batch;
    if (owner !== undefined) addUnder(tasks, owner, task);
    if (task.load !== undefined) addUnder(chains, task.load, task);
    if (task.does === "mix" && task.batch !== undefined) mixes.set(task.batch, task);
  }
  for (const chain of chains.values()) chain.sort(inOrder);
  const batches = new Map(timetable.batches.map((batch) => [batch.id, batch]));
  const loads = new Map<string, Load>();
  const loadsOfBatch = new Map<string, Load[]>();
  for (const load of timetable.loads) {
    loads.set(load.id, load);
    addUnder(loadsOfBatch, load.batch, load);
  }
  return { tasks, chains, mixes, batches, loads, loadsOfBatch };
}

const shelvesKnown = new WeakMap<
  Timetable,
  { readonly catalogue: Catalogue; readonly held: ReadonlyMap<string, string> }
>();

/** What shelves hold in a timetable, by unit. */
export function shelvesOf(timetable: Timetable, catalogue: Catalogue): ReadonlyMap<string, string> {
  const before = shelvesKnown.get(timetable);
  if (before?.catalogue === catalogue) return before.held;
  const held = new Map<string, string>();
  const { loads } = inForceOf(timetable);
  const products = new Map(catalogue.products.map((product) => [product.id, product]));
  const doughs = new Map(catalogue.doughs.map((dough) => [dough.id, dough]));
  for (const task of timetable.tasks) {
    if (task.does !== "retard") continue;
    const load = loads.get(task.load ?? "");
    const product = products.get(load?.product ?? "");
    if (!load || !product) continue;
    const inTubs = task.places?.[0]?.item.startsWith(`${load.id}-tub-`) ?? false;
    const key = inTubs ? `tub ${doughs.get(product.dough)?.tubType}` : `pan ${product.panType}`;
    for (const { unit } of task.places ?? []) held.set(unit, key);
  }
  shelvesKnown.set(timetable, { catalogue, held });
  return held;
}
