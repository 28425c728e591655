import type { Dough, Fridge, TubType } from "../../schemas/index.js";
import { type Facts, type LoadFact, type TaskFact, taskOf } from "./facts.js";
import { stretchedLimit } from "./r06-waits.js";
import { slabMiddle } from "./slab.js";
import { propertiesOf } from "./thermal.js";
import { fermentedHours } from "./yeast.js";

/** Temperature of a tub's middle after so many minutes (D10), C. */
export function tubMiddleC(dough: Dough, tubType: TubType, fridge: Fridge, doughG: number, minutes: number): number {
  const { densityKgPerM3, cpKjPerKgK, conductivityWPerMK } = propertiesOf(dough);
  const alpha = conductivityWPerMK / (densityKgPerM3 * cpKjPerKgK * 1000);
  const width = tubType.innerWidthMm / 1000;
  const depth = tubType.innerDepthMm / 1000;
  const height = doughG / 1000 / densityKgPerM3 / (width * depth);
  const share = [width, depth, height].reduce(
    (product, side) => product * slabMiddle(side / 2, alpha, conductivityWPerMK, fridge.filmWPerM2K, minutes * 60),
    1,
  );
  return fridge.airTempC + (dough.doughTempC - fridge.airTempC) * share;
}

const kinds = new Map<string, number>();
const kindsKnown = new WeakMap<object, number>();
let lastKind = 0;

/** A number that documents with the same content share; never given twice to others. */
function kindOf(document: object): number {
  let kind = kindsKnown.get(document);
  if (kind === undefined) {
    const text = JSON.stringify(document);
    if (kinds.size > 10_000) kinds.clear();
    kind = kinds.get(text) ?? ++lastKind;
    kinds.set(text, kind);
    kindsKnown.set(document, kind);
  }
  return kind;
}

const known = new Map<string, number>();

/** Temperature of a tub's middle when it must be chilled. */
function middleIn(dough: Dough, tubType: TubType, fridge: Fridge, doughG: number, minutes: number): number {
  const key = `${kindOf(dough)} ${kindOf(tubType)} ${fridge.airTempC} ${fridge.filmWPerM2K} ${doughG}`;
  let middle = known.get(key);
  if (middle === undefined) {
    if (known.size > 10_000) known.clear();
    middle = tubMiddleC(dough, tubType, fridge, doughG, minutes);
    known.set(key, middle);
  }
  return middle;
}

function fridgeAt(facts: Facts, unit: string): Fridge | undefined {
  const { fridge, shelf } = facts.units.at(unit);
  return shelf ? fridge : undefined;
}

function tubOf({ load }: LoadFact, id: string): { readonly id: string; readonly doughG: number } | undefined {
  for (const tub of load.tubs) if (tub.id === id) return tub;
  return undefined;
}

/** R5: the middle of every tub reaches its temperature in the time allowed. */
export function checkChilling(facts: Facts): void {
  for (const load of facts.loads) {
    const { dough } = load;
    const tubType = facts.tubTypes.get(dough.tubType ?? "");
    if (!dough.chill || !tubType || load.way.retards !== "tubs") continue;
    const retard = taskOf(load, "retard");
    if (!retard) continue;
    let middle = Number.NaN;
    let asked: Fridge | undefined;
    let askedG = Number.NaN;
    for (const place of retard.task.places ?? []) {
      const fridge = fridgeAt(facts, place.unit);
      const tub = tubOf(load, place.item);
      if (!fridge || !tub) continue;
      // Tubs of a load are alike mostly.
      if (fridge !== asked || tub.doughG !== askedG)
        middle = middleIn(dough, tubType, fridge, tub.doughG, dough.chill.withinMinutes);
      asked = fridge;
      askedG = tub.doughG;
      if (middle > dough.chill.toTempC + 0.02) {
        facts.report.add(
          "R5",
          "chills-too-slowly",
          `${tub.id} (${Math.round(tub.doughG)} g) is at ${middle.toFixed(1)} C in the middle after ${dough.chill.withinMinutes} min in ${place.unit}, it must be at ${dough.chill.toTempC} C: split it`,
          [retard.task.id],
          { unit: place.unit },
        );
      }
    }
  }
}

/** What yeast does along the way differs a little between two ways of computing. */
const FERMENT_SLACK = 1.003;

/**
 * R5: no tub is retarded until its middle has fermented more than its dough bears, and none is heavier than bears ferment.forMinutes. The van and a
 * second fridge count as the first.
 */
export function checkFermentation(facts: Facts): void {
  for (const load of facts.loads) {
    const { dough } = load;
    const tubType = facts.tubTypes.get(dough.tubType ?? "");
    if (!dough.ferment || !tubType || load.load.scrapped || load.way.retards !== "tubs") continue;
    const retards = retardsOf(load);
    const first = retards[0];
    if (!first) continue;
    const { greatestHours, atTempC, forMinutes } = dough.ferment;
    const minutes = retards.at(-1)!.end - first.start;
    const isLong = minutes > stretchedLimit(facts, first, 0);
    for (const place of first.task.places ?? []) {
      const fridge = fridgeAt(facts, place.unit);
      const tub = tubOf(load, place.item);
      if (!fridge || !tub) continue;
      if (
        forMinutes !== undefined &&
        hoursIn(dough, tubType, fridge, tub.doughG, forMinutes) > greatestHours * FERMENT_SLACK
      )
        facts.report.add(
          "R5",
          "tub-too-heavy",
          `${tub.id} holds ${Math.round(tub.doughG)} g, more than bears ${forMinutes} min in ${place.unit}: split it`,
          [`${load.load.batch}-mix`],
          { unit: place.unit },
        );
      if (!isLong) continue;
      const hours = hoursIn(dough, tubType, fridge, tub.doughG, minutes);
      if (hours > greatestHours * FERMENT_SLACK)
        facts.report.add(
          "R5",
          "over-fermented",
          `${tub.id} (${Math.round(tub.doughG)} g) ferments ${hours.toFixed(2)} h at ${atTempC} C in its middle in ${minutes} min, at most ${greatestHours}: shorter, smaller or colder`,
          retards.map(({ task }) => task.id),
          { unit: place.unit },
        );
    }
  }
}

function retardsOf({ tasks }: LoadFact): TaskFact[] {
  return tasks.filter(({ task }) => task.does === "retard");
}

const fermented = new Map<string, number>();

function hoursIn(dough: Dough, tubType: TubType, fridge: Fridge, doughG: number, minutes: number): number {
  const key = `${kindOf(dough)} ${kindOf(tubType)} ${fridge.airTempC} ${fridge.filmWPerM2K} ${doughG} ${minutes}`;
  let hours = fermented.get(key);
  if (hours === undefined) {
    if (fermented.size > 10_000) fermented.clear();
    hours = fermentedHours(dough, tubType, fridge, doughG, minutes);
    fermented.set(key, hours);
  }
  return hours;
}
