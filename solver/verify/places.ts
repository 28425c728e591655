import type { Place, Task } from "../../schemas/index.js";
import type { Rule } from "./breach.js";
import { clockText, type Facts, type LoadFact, type TaskFact, tasksThat } from "./facts.js";
import { overlaps } from "./sweep.js";

/** A task of a load that gives places to its items, or should. */
export interface Placing {
  readonly load: LoadFact;
  readonly fact: TaskFact;
}

/** Load by load, the tasks that do something. */
export function placingsOf(facts: Facts, does: Task["does"]): Placing[] {
  const placings: Placing[] = [];
  for (const load of facts.loads)
    for (const fact of load.tasks) if (fact.task.does === does) placings.push({ load, fact });
  return placings;
}

interface Stay extends Placing {
  readonly place: Place;
  readonly from: number;
  readonly to: number;
}

function staysOf(placings: readonly Placing[]): Stay[] {
  const stays: Stay[] = [];
  for (const { load, fact } of placings)
    for (const place of fact.task.places ?? []) stays.push({ place, load, fact, from: fact.start, to: fact.end });
  return stays;
}

/** The items that must have a place: a load's tubs, or its pans. */
function itemsOf({ load }: LoadFact, kind: "tubs" | "pans"): readonly string[] {
  return kind === "tubs"
    ? load.tubs.map((tub) => tub.id)
    : Array.from({ length: load.pans }, (_, i) => `${load.id}-pan-${i + 1}`);
}

/** Is each item there once, in the order in which they are counted? So they are written mostly. */
function areInOrder({ load }: LoadFact, kind: "tubs" | "pans", places: readonly Place[]): boolean {
  return kind === "tubs" ? areTubsInOrder(load.tubs, places) : arePansInOrder(load.id, load.pans, places);
}

function areTubsInOrder(tubs: readonly { readonly id: string }[], places: readonly Place[]): boolean {
  if (tubs.length !== places.length) return false;
  for (let i = 0; i < tubs.length; i++) {
    if (places[i]!.item !== tubs[i]!.id) return false;
    for (let k = 0; k < i; k++) if (tubs[k]!.id === tubs[i]!.id) return false;
  }
  return true;
}

const PAN = "-pan-";
const ZERO = 48;

function arePansInOrder(load: string, pans: number, places: readonly Place[]): boolean {
  if (pans !== places.length) return false;
  for (let i = 0; i < pans; i++) if (!isPan(places[i]!.item, load, i + 1)) return false;
  return true;
}

/** Is it the name of a load's n-th pan? */
function isPan(item: string, load: string, n: number): boolean {
  let rest = n;
  let at = item.length;
  for (; rest > 0; rest = Math.floor(rest / 10)) if (item.charCodeAt(--at) !== ZERO + (rest % 10)) return false;
  return at === load.length + PAN.length && item.startsWith(load) && item.startsWith(PAN, load.length);
}

/** Each item has exactly one place in the task, and nothing else has any. */
export function checkItems(facts: Facts, rule: Rule, { load, fact }: Placing, kind: "tubs" | "pans"): void {
  if (fact.end === fact.start) return;
  const places = fact.task.places ?? [];
  if (areInOrder(load, kind, places)) return;
  const wanted = itemsOf(load, kind);
  for (const item of wanted) {
    let count = 0;
    for (const place of places) if (place.item === item) count++;
    if (count !== 1)
      facts.report.add(rule, "item-places", `${item} has ${count} places in ${fact.task.id}, it needs one`, [
        fact.task.id,
      ]);
  }
  for (const { item } of places)
    if (!wanted.includes(item))
      facts.report.add(rule, "foreign-item", `${fact.task.id} gives a place to ${item}, which is not of its load`, [
        fact.task.id,
      ]);
}

/** Positions are numbered from 1; beyond this they are not kept in a list. */
const MOST_POSITIONS = 10_000;

/** Is a position given again before it is free? The tasks are in order of start; what has no length takes none. */
function areSharedBy(tasks: readonly TaskFact[]): boolean {
  /** By unit and position: when it is free again. */
  const units = new Map<string, number[]>();
  let last = "";
  let freeAt: number[] = [];
  for (const { task, start, end } of tasks) {
    if (!task.places || !(end > start)) continue;
    for (const { unit, position } of task.places) {
      if (unit !== last) {
        last = unit;
        freeAt = units.get(unit) ?? [];
        if (freeAt.length === 0) units.set(unit, freeAt);
      }
      if (position >= MOST_POSITIONS) return true;
      while (freeAt.length <= position) freeAt.push(Number.NEGATIVE_INFINITY);
      if (freeAt[position]! > start) return true;
      freeAt[position] = end;
    }
  }
  return false;
}

function areInTime(tasks: readonly TaskFact[]): boolean {
  for (let i = 1; i < tasks.length; i++) if (!(tasks[i]!.start >= tasks[i - 1]!.start)) return false;
  return true;
}

/** May positions be shared? Looked at for all tasks that do something, of whatever load, in the order in which they are written. */
function mayBeShared(facts: Facts, does: Task["does"]): boolean {
  const tasks = tasksThat(facts, does);
  // Of two loads with one id each has the tasks of both.
  if (facts.loadsById.size < facts.loads.length || !areInTime(tasks)) return true;
  return areSharedBy(tasks);
}

/** Stays in each position, in the order in which positions come up. */
function byPosition(stays: readonly Stay[]): Stay[][] {
  const found: Stay[][] = [];
  const units = new Map<string, Map<number, Stay[]>>();
  for (const stay of stays) {
    const { unit, position } = stay.place;
    let positions = units.get(unit);
    if (!positions) {
      positions = new Map();
      units.set(unit, positions);
    }
    const there = positions.get(position);
    if (there) there.push(stay);
    else {
      const first = [stay];
      positions.set(position, first);
      found.push(first);
    }
  }
  return found;
}

/** No two items are in one position at once. The placings are those of all loads that do the same. */
export function checkPositions(facts: Facts, rule: Rule, does: Task["does"], placings: readonly Placing[]): void {
  if (!mayBeShared(facts, does)) return;
  for (const there of byPosition(staysOf(placings))) {
    if (there.length < 2) continue;
    for (const [a, b] of overlaps(there)) {
      const key = `${a.place.unit} position ${a.place.position}`;
      facts.report.add(
        rule,
        "position-shared",
        `${a.place.item} and ${b.place.item} are both in ${key} at ${clockText(b.from)}`,
        [a.fact.task.id, b.fact.task.id],
        { unit: a.place.unit },
      );
    }
  }
}
