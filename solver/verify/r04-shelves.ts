import { shelfLimit } from "./count.js";
import { clockText, type Facts, type LoadFact, retardKind, taskOf } from "./facts.js";
import { checkItems, checkPositions, type Stay, shelfAt, staysOf } from "./places.js";
import { stretchedLimit } from "./r06-waits.js";
import { grouped, overlaps, overuses, type Use } from "./sweep.js";
import { propertiesOf } from "./thermal.js";

/** Kind, height and mass of one item of a load in a fridge. */
function itemOf(facts: Facts, stay: Stay): { kind: string; heightMm: number; massG: number } {
  const { load, product, dough, route } = stay.load;
  if (retardKind(route) === "tubs") {
    const tubType = facts.tubTypes.get(dough.tubType ?? "");
    const tub = load.tubs.find((candidate) => candidate.id === stay.place.item);
    return {
      kind: `tub ${dough.tubType}`,
      heightMm: tubType?.heightMm ?? 0,
      massG: (tubType?.massG ?? 0) + (tub?.doughG ?? 0),
    };
  }
  const panType = facts.panTypes.get(product.panType);
  return {
    kind: `pan ${product.panType}`,
    heightMm: Math.max(panType?.heightMm ?? 0, product.heightMm),
    massG: (panType?.massG ?? 0) + (load.pieces / load.pans) * product.pieceG,
  };
}

function checkShelf(facts: Facts, unit: string, stays: readonly Stay[]): void {
  const { report } = facts;
  const found = shelfAt(facts, unit);
  if (!found) {
    report.add("R4", "no-such-shelf", `${unit} is not a shelf of a fridge`, [stays[0]!.fact.task.id], { unit });
    return;
  }
  const { fridge, shelf } = found;
  const items = stays.map((stay) => ({ stay, ...itemOf(facts, stay), from: stay.from, to: stay.to }));
  let lastKind = "";
  let id = "";
  let limit = 0;
  for (const { stay, kind, heightMm } of items) {
    // A shelf holds one kind mostly.
    if (kind !== lastKind) {
      lastKind = kind;
      const [what, type] = kind.split(" ") as [string, string];
      const container = what === "tub" ? facts.tubTypes.get(type) : facts.panTypes.get(type);
      id = type;
      limit = container ? shelfLimit(fridge, shelf, container) : 0;
    }
    if (stay.place.position > limit)
      report.add(
        "R4",
        "no-such-position",
        `${stay.place.item} is in position ${stay.place.position} of ${unit}, which has ${limit} for ${id}`,
        [stay.fact.task.id],
        { unit },
      );
    if (heightMm > shelf.clearHeightMm)
      report.add(
        "R4",
        "too-high",
        `${stay.place.item} is ${heightMm} mm high, ${unit} clears ${shelf.clearHeightMm} mm`,
        [stay.fact.task.id],
        { unit },
      );
  }
  const ofKind = [...grouped(items, (item) => item.kind).values()];
  for (const own of ofKind) {
    for (const other of ofKind) {
      if (own === other) continue;
      for (const [a, b] of overlaps([...own, ...other])) {
        if (a.kind === b.kind) continue;
        report.add(
          "R4",
          "kinds-mixed",
          `${unit} holds ${a.stay.place.item} and ${b.stay.place.item}, two kinds of container, at ${clockText(b.from)}`,
          [a.stay.fact.task.id, b.stay.fact.task.id],
          { unit },
        );
      }
    }
    break;
  }
  const loads = items.map(({ stay, massG }) => ({
    from: stay.from,
    to: stay.to,
    amount: massG,
    task: stay.fact.task.id,
  }));
  for (const { at, used, tasks } of overuses(loads, shelf.maxMassG, 1)) {
    report.add(
      "R4",
      "too-heavy",
      `${unit} bears ${Math.round(used)} g at ${clockText(at)}, at most ${shelf.maxMassG} g`,
      tasks,
      { unit },
    );
  }
}

function checkRetard(facts: Facts, load: LoadFact): void {
  const step = load.route.steps.find((candidate) => candidate.does === "retard");
  if (!step || !("leastMinutes" in step)) return;
  const retards = load.tasks.filter(({ task }) => task.does === "retard");
  if (retards.length === 0) return;
  const minutes = retards[retards.length - 1]!.end - retards[0]!.start;
  const ids = retards.map(({ task }) => task.id);
  if (minutes < step.leastMinutes && !load.load.scrapped)
    facts.report.add(
      "R4",
      "retard-too-short",
      `load ${load.load.id} is retarded for ${minutes} min, at least ${step.leastMinutes}`,
      ids,
    );
  if (minutes > stretchedLimit(facts, retards[0]!, step.greatestMinutes))
    facts.report.add(
      "R4",
      "retard-too-long",
      `load ${load.load.id} is retarded for ${minutes} min, at most ${step.greatestMinutes}`,
      ids,
    );
}

interface HeatFlow extends Use {
  readonly fridge: string;
}

function fridgeOf({ fridge }: HeatFlow): string {
  return fridge;
}

/** Heat that a load gives off while it is pulled down. */
function heatFlow(load: LoadFact): HeatFlow | null {
  const { chill, doughTempC } = load.dough;
  const retard = taskOf(load, "retard");
  const unit = retard?.task.places?.[0]?.unit;
  if (!chill || !retard || unit === undefined) return null;
  const cp = propertiesOf(load.dough).cpKjPerKgK;
  const watts = (load.load.doughG * cp * Math.max(0, doughTempC - chill.toTempC)) / (chill.withinMinutes * 60);
  const to = Math.min(retard.end, retard.start + chill.withinMinutes);
  const fridge = unit.split("/").slice(0, 2).join("/");
  return { fridge, from: retard.start, to, amount: watts, task: retard.task.id };
}

/** D9: heat of all dough that is being pulled down never exceeds what the fridge removes. */
function checkHeat(facts: Facts): void {
  const flows: HeatFlow[] = [];
  for (const load of facts.loads) {
    const flow = heatFlow(load);
    if (flow) flows.push(flow);
  }
  for (const [unit, uses] of grouped(flows, fridgeOf)) {
    const [site, id] = unit.split("/");
    const fridge = facts.sites.get(site!)?.fridges.find((candidate) => candidate.id === id);
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

function unitOfStay({ place }: Stay): string {
  return place.unit;
}

/** R4: every tub or pan in a fridge has one named position; kinds, kilograms, height, heat; least and greatest retard. */
export function checkShelves(facts: Facts): void {
  const stays = staysOf(facts, "retard");
  for (const load of facts.loads) {
    const kind = retardKind(load.route);
    if (!kind) continue;
    for (const fact of load.tasks) {
      if (fact.task.does !== "retard") continue;
      checkItems(facts, "R4", load, fact, kind);
      for (const place of fact.task.places ?? []) {
        if (!place.unit.startsWith(`${fact.task.site}/`))
          facts.report.add(
            "R4",
            "wrong-site",
            `${place.item} stands in ${place.unit}, but ${fact.task.id} is at ${fact.task.site}`,
            [fact.task.id],
            { unit: place.unit },
          );
      }
    }
    checkRetard(facts, load);
  }
  checkPositions(facts, "R4", stays);
  for (const [unit, there] of grouped(stays, unitOfStay)) checkShelf(facts, unit, there);
  checkHeat(facts);
}
