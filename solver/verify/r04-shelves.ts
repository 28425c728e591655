import type { Fridge, Place, Shelf } from "../../schemas/index.js";
import { shelfLimit } from "./count.js";
import { clockText, type Facts, type LoadFact, taskOf } from "./facts.js";
import { checkItems, checkPositions, type Placing, placingsOf } from "./places.js";
import { stretchedLimit } from "./r06-waits.js";
import { grouped, overlaps, overuses, type Use } from "./sweep.js";
import { propertiesOf } from "./thermal.js";

/** What stands in a fridge of one load: kind, height, and mass of an item but for the dough in a tub. */
interface Container {
  readonly kind: "tub" | "pan";
  readonly type: string;
  readonly heightMm: number;
  readonly massG: number;
}

function containerOf(facts: Facts, { load, product, dough, way }: LoadFact): Container {
  if (way.retards === "tubs") {
    const tubType = facts.tubTypes.get(dough.tubType ?? "");
    // A dough without tubs has none of this type.
    return {
      kind: "tub",
      type: `${dough.tubType}`,
      heightMm: tubType?.heightMm ?? 0,
      massG: tubType?.massG ?? 0,
    };
  }
  const panType = facts.panTypes.get(product.panType);
  return {
    kind: "pan",
    type: product.panType,
    heightMm: Math.max(panType?.heightMm ?? 0, product.heightMm),
    massG: (panType?.massG ?? 0) + (load.pieces / load.pans) * product.pieceG,
  };
}

function massOf({ kind, massG }: Container, { load }: LoadFact, item: string): number {
  if (kind === "pan") return massG;
  for (const tub of load.tubs) if (tub.id === item) return massG + tub.doughG;
  return massG;
}

/** Items of one load on one shelf during one task. */
interface Stand extends Placing {
  readonly places: readonly Place[];
  readonly container: Container;
}

/** What stands on each shelf, in the order of the loads. */
function standsByShelf(facts: Facts, placings: readonly Placing[]): Map<string, Stand[]> {
  const stands = new Map<string, Stand[]>();
  let last: LoadFact | null = null;
  let container: Container | null = null;
  for (const { load, fact } of placings) {
    if (load !== last || container === null) container = containerOf(facts, load);
    last = load;
    const places = fact.task.places ?? [];
    for (let i = 0; i < places.length; ) {
      const { unit } = places[i]!;
      let end = i + 1;
      while (end < places.length && places[end]!.unit === unit) end++;
      const own = i === 0 && end === places.length ? places : places.slice(i, end);
      const stand = { load, fact, places: own, container };
      const there = stands.get(unit);
      if (there) there.push(stand);
      else stands.set(unit, [stand]);
      i = end;
    }
  }
  return stands;
}

function checkShelf(facts: Facts, unit: string, stands: readonly Stand[]): void {
  const { report } = facts;
  const { fridge, shelf } = facts.units.at(unit);
  if (!fridge || !shelf) {
    report.add("R4", "no-such-shelf", `${unit} is not a shelf of a fridge`, [stands[0]!.fact.task.id], { unit });
    return;
  }
  let areMixed = false;
  let last: Container | null = null;
  let limit = 0;
  for (const { fact, places, container } of stands) {
    const { kind, type, heightMm } = container;
    // A shelf holds one kind mostly.
    if (last === null || kind !== last.kind || type !== last.type) {
      areMixed ||= last !== null;
      last = container;
      limit = limitOf(facts, fridge, shelf, container);
    }
    for (const { item, position } of places) {
      if (position > limit)
        report.add(
          "R4",
          "no-such-position",
          `${item} is in position ${position} of ${unit}, which has ${limit} for ${type}`,
          [fact.task.id],
          { unit },
        );
      if (heightMm > shelf.clearHeightMm)
        report.add(
          "R4",
          "too-high",
          `${item} is ${heightMm} mm high, ${unit} clears ${shelf.clearHeightMm} mm`,
          [fact.task.id],
          { unit },
        );
    }
  }
  if (areMixed) checkKinds(facts, unit, stands);
  checkMass(facts, unit, shelf, stands);
}

function limitOf(facts: Facts, fridge: Fridge, shelf: Shelf, { kind, type }: Container): number {
  const container = kind === "tub" ? facts.tubTypes.get(type) : facts.panTypes.get(type);
  return container ? shelfLimit(fridge, shelf, container) : 0;
}

interface Item {
  readonly kind: string;
  readonly item: string;
  readonly task: string;
  readonly from: number;
  readonly to: number;
}

function kindOf({ kind }: Item): string {
  return kind;
}

/** A shelf holds one kind of container at a time. */
function checkKinds(facts: Facts, unit: string, stands: readonly Stand[]): void {
  const items: Item[] = [];
  for (const { fact, places, container } of stands)
    for (const { item } of places) {
      const { start: from, end: to } = fact;
      items.push({ kind: `${container.kind} ${container.type}`, item, task: fact.task.id, from, to });
    }
  const [own, ...others] = grouped(items, kindOf).values();
  for (const other of others) {
    for (const [a, b] of overlaps([...own!, ...other])) {
      if (a.kind === b.kind) continue;
      facts.report.add(
        "R4",
        "kinds-mixed",
        `${unit} holds ${a.item} and ${b.item}, two kinds of container, at ${clockText(b.from)}`,
        [a.task, b.task],
        { unit },
      );
    }
  }
}

function checkMass(facts: Facts, unit: string, { maxMassG }: Shelf, stands: readonly Stand[]): void {
  const loads: Use[] = [];
  for (const { load, fact, places, container } of stands)
    for (const { item } of places)
      loads.push({ from: fact.start, to: fact.end, amount: massOf(container, load, item), task: fact.task.id });
  for (const { at, used, tasks } of overuses(loads, maxMassG, 1)) {
    facts.report.add(
      "R4",
      "too-heavy",
      `${unit} bears ${Math.round(used)} g at ${clockText(at)}, at most ${maxMassG} g`,
      tasks,
      { unit },
    );
  }
}

function checkRetard(facts: Facts, load: LoadFact): void {
  const step = load.way.retard;
  if (!step) return;
  let minutes = 0;
  let first: LoadFact["tasks"][number] | undefined;
  for (const fact of load.tasks) {
    if (fact.task.does !== "retard") continue;
    first ??= fact;
    minutes = fact.end - first.start;
  }
  if (!first) return;
  if (minutes < step.leastMinutes && !load.load.scrapped)
    facts.report.add(
      "R4",
      "retard-too-short",
      `load ${load.load.id} is retarded for ${minutes} min, at least ${step.leastMinutes}`,
      retardIds(load),
    );
  if (minutes > stretchedLimit(facts, first, step.greatestMinutes))
    facts.report.add(
      "R4",
      "retard-too-long",
      `load ${load.load.id} is retarded for ${minutes} min, at most ${step.greatestMinutes}`,
      retardIds(load),
    );
}

function retardIds({ tasks }: LoadFact): string[] {
  return tasks.filter(({ task }) => task.does === "retard").map(({ task }) => task.id);
}

interface HeatFlow extends Use {
  readonly fridge: string;
}

function fridgeOf({ fridge }: HeatFlow): string {
  return fridge;
}

/** Heat that a load gives off while it is pulled down. */
function heatFlow(facts: Facts, load: LoadFact): HeatFlow | null {
  const { chill, doughTempC } = load.dough;
  const retard = chill ? taskOf(load, "retard") : undefined;
  const unit = retard?.task.places?.[0]?.unit;
  if (!chill || !retard || unit === undefined) return null;
  const cp = propertiesOf(load.dough).cpKjPerKgK;
  const watts = (load.load.doughG * cp * Math.max(0, doughTempC - chill.toTempC)) / (chill.withinMinutes * 60);
  const to = Math.min(retard.end, retard.start + chill.withinMinutes);
  return { fridge: facts.units.at(unit).station, from: retard.start, to, amount: watts, task: retard.task.id };
}

/** D9: heat of all dough that is being pulled down never exceeds what the fridge removes. */
function checkHeat(facts: Facts): void {
  const flows: HeatFlow[] = [];
  for (const load of facts.loads) {
    const flow = heatFlow(facts, load);
    if (flow) flows.push(flow);
  }
  for (const [unit, uses] of grouped(flows, fridgeOf)) {
    const { fridge } = facts.units.at(unit);
    if (!fridge) continue;
    for (const { at, used, tasks } of overuses(uses, fridge.heatRemovalW, 1)) {
      facts.report.add(
        "R4",
        "fridge-heat",
        `${unit} has to remove ${Math.round(used)} W at ${clockText(at)}, it removes ${fridge.heatRemovalW} W`,
        tasks,
        { unit },
      );
    }
  }
}

/** R4: every tub or pan in a fridge has one named position; kinds, kilograms, height, heat; least and greatest retard. */
export function checkShelves(facts: Facts): void {
  const placings = placingsOf(facts, "retard");
  let next = 0;
  for (const load of facts.loads) {
    const kind = load.way.retards;
    for (; next < placings.length && placings[next]!.load === load; next++)
      if (kind) checkRetarded(facts, placings[next]!, kind);
    if (kind) checkRetard(facts, load);
  }
  checkPositions(facts, "R4", "retard", placings);
  for (const [unit, there] of standsByShelf(facts, placings)) checkShelf(facts, unit, there);
  checkHeat(facts);
}

function checkRetarded(facts: Facts, placing: Placing, kind: "tubs" | "pans"): void {
  checkItems(facts, "R4", placing, kind);
  const { task } = placing.fact;
  for (const { unit, item } of task.places ?? []) {
    if (facts.units.at(unit).siteId !== task.site)
      facts.report.add("R4", "wrong-site", `${item} stands in ${unit}, but ${task.id} is at ${task.site}`, [task.id], {
        unit,
      });
  }
}
