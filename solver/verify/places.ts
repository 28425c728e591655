import type { Fridge, Place, Shelf, Task } from "../../schemas/index.js";
import type { Rule } from "./breach.js";
import { clockText, type Facts, type LoadFact, type TaskFact } from "./facts.js";
import { overlaps } from "./sweep.js";

export interface Stay {
  readonly place: Place;
  readonly load: LoadFact;
  readonly fact: TaskFact;
  readonly from: number;
  readonly to: number;
}

/** All stays of items in the tasks that do something. */
export function staysOf(facts: Facts, does: Task["does"]): Stay[] {
  const stays: Stay[] = [];
  for (const load of facts.loads)
    for (const fact of load.tasks) {
      if (fact.task.does !== does) continue;
      for (const place of fact.task.places ?? []) stays.push({ place, load, fact, from: fact.start, to: fact.end });
    }
  return stays;
}

const pansKnown = new WeakMap<LoadFact, readonly string[]>();

/** The items that must have a place: a load's tubs, or its pans. */
export function itemsOf(load: LoadFact, kind: "tubs" | "pans"): readonly string[] {
  if (kind === "tubs") return load.load.tubs.map((tub) => tub.id);
  let pans = pansKnown.get(load);
  if (!pans) {
    pans = Array.from({ length: load.load.pans }, (_, i) => `${load.load.id}-pan-${i + 1}`);
    pansKnown.set(load, pans);
  }
  return pans;
}

/** Is each item there once, in the order in which they are counted? So they are written mostly. */
function areInOrder(wanted: readonly string[], places: readonly Place[]): boolean {
  if (wanted.length !== places.length) return false;
  for (let i = 0; i < wanted.length; i++) {
    if (places[i]!.item !== wanted[i]) return false;
    for (let k = 0; k < i; k++) if (wanted[k] === wanted[i]) return false;
  }
  return true;
}

/** Each item has exactly one place in the task, and nothing else has any. */
export function checkItems(facts: Facts, rule: Rule, load: LoadFact, fact: TaskFact, kind: "tubs" | "pans"): void {
  if (fact.end === fact.start) return;
  const wanted = itemsOf(load, kind);
  const places = fact.task.places ?? [];
  if (areInOrder(wanted, places)) return;
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

/** No two items are in one position at once. */
export function checkPositions(facts: Facts, rule: Rule, stays: readonly Stay[]): void {
  for (const there of byPosition(stays)) {
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

export function shelfAt(facts: Facts, unit: string): { fridge: Fridge; shelf: Shelf } | undefined {
  const [site, fridgeId, shelfId] = unit.split("/");
  const fridge = facts.sites.get(site!)?.fridges.find((candidate) => candidate.id === fridgeId);
  const shelf = fridge?.shelves.find((candidate) => candidate.id === shelfId);
  return fridge && shelf ? { fridge, shelf } : undefined;
}
