import type { Deck, Oven } from "../../schemas/index.js";
import { deckLimit } from "./count.js";
import { clockText, deckAt, type Facts, isAt, type LoadFact, type TaskFact } from "./facts.js";
import { checkItems, checkPositions, type Placing, placingsOf } from "./places.js";
import { grouped, ordered, overlaps } from "./sweep.js";
import { heaterLead } from "./thermal.js";
import { instantSeconds } from "./time.js";

interface Bake {
  readonly load: LoadFact;
  readonly fact: TaskFact;
  readonly deck: Deck;
  readonly oven: Oven;
  readonly unit: string;
  readonly from: number;
  readonly to: number;
  readonly tempC: number;
}

function bakesOf(facts: Facts, placings: readonly Placing[]): Bake[] {
  const bakes: Bake[] = [];
  for (const placing of placings) {
    const bake = bakeOf(facts, placing);
    if (bake) bakes.push(bake);
  }
  return bakes;
}

function bakeOf(facts: Facts, placing: Placing): Bake | null {
  const { load, fact } = placing;
  const step = load.way.bake;
  if (!step) return null;
  const { task } = fact;
  const found = deckAt(facts, task.unit);
  if (!found || task.unit === undefined || !isAt(facts, task.unit, task.site)) {
    facts.report.add("R10", "no-deck", `${task.id} is on no deck of its site`, [task.id]);
    return null;
  }
  const { deck, oven } = found;
  if (task.tempC !== step.tempC)
    facts.report.add(
      "R10",
      "wrong-temperature",
      `${task.id} bakes at ${task.tempC ?? "no"} C, its route says ${step.tempC} C`,
      [task.id],
      { unit: task.unit },
    );
  if (step.tempC > deck.maxTempC)
    facts.report.add(
      "R10",
      "too-hot",
      `${task.id} needs ${step.tempC} C, ${task.unit} reaches ${deck.maxTempC} C`,
      [task.id],
      { unit: task.unit },
    );
  checkPans(facts, placing, task.unit, deck);
  checkItems(facts, "R10", placing, "pans");
  const { start: from, end: to } = fact;
  return { load, fact, deck, oven, unit: task.unit, from, to, tempC: task.tempC ?? step.tempC };
}

/** The pans of a bake are low enough, and lie on its deck in positions that are there. */
function checkPans(facts: Facts, { load, fact: { task } }: Placing, unit: string, deck: Deck): void {
  const panType = facts.panTypes.get(load.product.panType);
  const height = Math.max(panType?.heightMm ?? 0, load.product.heightMm);
  if (height > deck.clearHeightMm)
    facts.report.add(
      "R10",
      "too-high",
      `${task.id} is ${height} mm high, ${unit} clears ${deck.clearHeightMm} mm`,
      [task.id],
      { unit },
    );
  const limit = panType ? deckLimit(deck, panType) : 0;
  for (const place of task.places ?? []) {
    if (place.unit !== unit)
      facts.report.add("R10", "foreign-place", `${place.item} of ${task.id} lies on ${place.unit}`, [task.id], {
        unit: place.unit,
      });
    if (place.position > limit)
      facts.report.add(
        "R10",
        "no-such-position",
        `${place.item} is in position ${place.position} of ${unit}, which has ${limit} for ${load.product.panType}`,
        [task.id],
        { unit },
      );
  }
}

function changeMinutes(decks: readonly Deck[], fromC: number, toC: number): number {
  let rate = Number.POSITIVE_INFINITY;
  for (const deck of decks) rate = Math.min(rate, toC > fromC ? deck.heatUpCPerMinute : deck.coolDownCPerMinute);
  return Math.ceil(Math.abs(toC - fromC) / rate - 1e-9);
}

/** Loads on one thermostat: one setpoint at a time, empty while it changes. */
function checkSetpoints(facts: Facts, heater: string, bakes: readonly Bake[]): void {
  const decks = bakes[0]!.oven.sharedThermostat ? bakes[0]!.oven.decks : [bakes[0]!.deck];
  const sorted = ordered([...bakes], byStart);
  for (let i = 0; i < sorted.length; i++) {
    const next = sorted[i]!;
    for (let k = 0; k < i; k++) {
      const last = sorted[k]!;
      if (last.tempC === next.tempC) continue;
      const change = changeMinutes(decks, last.tempC, next.tempC);
      if (next.from - last.to >= change) continue;
      const ids = [last.fact.task.id, next.fact.task.id];
      facts.report.add(
        "R10",
        "setpoint-change",
        `${heater} goes from ${last.tempC} to ${next.tempC} C between ${ids[0]} (until ${clockText(last.to)}) and ${ids[1]} (from ${clockText(next.from)}), it takes ${change} min empty`,
        ids,
        { unit: heater },
      );
    }
  }
}

function byStart(a: Bake, b: Bake): number {
  return a.from - b.from;
}

function panTypeOf({ load }: Bake): string {
  return load.product.panType;
}

/** Bakes by what heats them. */
function byHeater(facts: Facts, bakes: readonly Bake[]): Map<string, Bake[]> {
  const found = new Map<string, Bake[]>();
  for (const bake of bakes) {
    const heater = bake.oven.sharedThermostat ? facts.units.at(bake.unit).station : bake.unit;
    const own = found.get(heater);
    if (own) own.push(bake);
    else found.set(heater, [bake]);
  }
  return found;
}

function unitOf({ unit }: Bake): string {
  return unit;
}

function checkPanTypes(facts: Facts, unit: string, bakes: readonly Bake[]): void {
  if (areOfOneType(bakes)) return;
  const kinds = [...grouped(bakes, panTypeOf).values()];
  for (const own of kinds) {
    for (const other of kinds) {
      if (own === other || own[0]!.load.product.panType > other[0]!.load.product.panType) continue;
      for (const [a, b] of overlaps([...own, ...other])) {
        if (a.load.product.panType !== b.load.product.panType)
          facts.report.add(
            "R10",
            "pan-types-mixed",
            `${unit} holds two pan types at ${clockText(b.from)}`,
            [a.fact.task.id, b.fact.task.id],
            { unit },
          );
      }
    }
  }
}

function areOfOneType(bakes: readonly Bake[]): boolean {
  for (const { load } of bakes) if (load.product.panType !== bakes[0]!.load.product.panType) return false;
  return true;
}

interface On {
  readonly from: number;
  readonly to: number;
}

interface Setting {
  readonly at: number;
  readonly hotFrom: number;
  readonly tempC: number;
}

/** When a deck is on, and its setpoints, in epoch minutes. */
interface Program {
  readonly on: readonly On[];
  readonly setpoints: readonly Setting[];
}

function programOf({ timetable }: Facts, unit: string): Program {
  for (const { deck, on, setpoints } of timetable.ovenProgram) {
    if (deck !== unit) continue;
    return {
      on: on.map(({ from, to }) => ({ from: instantSeconds(from) / 60, to: instantSeconds(to) / 60 })),
      setpoints: setpoints.map(({ at, hotFrom, tempC }) => ({
        at: instantSeconds(at) / 60,
        hotFrom: instantSeconds(hotFrom) / 60,
        tempC,
      })),
    };
  }
  return { on: [], setpoints: [] };
}

/** The on-time that covers a bake, its preheat included. */
function onDuring({ on }: Program, leadMinutes: number, { from, to }: Bake): On | undefined {
  for (const span of on) if (span.from + leadMinutes <= from && to <= span.to) return span;
  return undefined;
}

/** The last setpoint of an on-time before a bake starts: of two at once the later written. */
function setBefore({ setpoints }: Program, span: On, minute: number): Setting | undefined {
  let last: Setting | undefined;
  for (const set of setpoints)
    if (set.at >= span.from && set.at <= minute && (last === undefined || set.at >= last.at)) last = set;
  return last;
}

function setDuring({ setpoints }: Program, { from, to }: Bake): Setting | undefined {
  for (const set of setpoints) if (set.at > from && set.at < to) return set;
  return undefined;
}

/** The oven program covers every bake with its preheat lead time, and has the deck hot at the right setpoint. */
function checkProgram(facts: Facts, unit: string, bakes: readonly Bake[]): void {
  const { report } = facts;
  const { oven, deck } = bakes[0]!;
  const lead = heaterLead(oven, deck, facts.units.at(unit).site!);
  const decks = oven.sharedThermostat ? oven.decks : [deck];
  const program = programOf(facts, unit);
  for (const bake of bakes) {
    const { fact, from, tempC } = bake;
    const span = onDuring(program, lead, bake);
    if (!span) {
      report.add(
        "R10",
        "no-preheat",
        `${unit} is not on ${lead} min before ${fact.task.id} at ${clockText(from)} and until it ends`,
        [fact.task.id],
        { unit },
      );
      continue;
    }
    const set = setBefore(program, span, from);
    if (!set || set.tempC !== tempC || set.hotFrom > from)
      report.add(
        "R10",
        "not-hot",
        `${unit} is not at ${tempC} C for ${fact.task.id} at ${clockText(from)}`,
        [fact.task.id],
        { unit },
      );
    const changed = setDuring(program, bake);
    if (changed)
      report.add(
        "R10",
        "setpoint-change",
        `the setpoint of ${unit} is changed at ${clockText(changed.at)}, while ${fact.task.id} bakes`,
        [fact.task.id],
        { unit },
      );
  }
  for (const span of program.on) {
    const inside: Setting[] = [];
    for (const set of program.setpoints) if (set.at >= span.from && set.at < span.to) inside.push(set);
    ordered(inside, byInstant);
    for (let i = 0; i < inside.length; i++) {
      const set = inside[i]!;
      const needed = i === 0 ? lead : changeMinutes(decks, inside[i - 1]!.tempC, set.tempC);
      if (set.hotFrom - set.at < needed)
        report.add(
          "R10",
          "hot-too-soon",
          `${unit} is said to be at ${set.tempC} C ${set.hotFrom - set.at} min after ${clockText(set.at)}, it takes ${needed}`,
          [],
          { unit },
        );
    }
  }
}

function byInstant(a: Setting, b: Setting): number {
  return a.at - b.at;
}

/** R10: deck positions, one setpoint and one pan type at a time, changes empty, preheat lead time, door recovery. */
export function checkDecks(facts: Facts): void {
  const placings = placingsOf(facts, "bake");
  const bakes = bakesOf(facts, placings);
  checkPositions(facts, "R10", "bake", placings);
  for (const [heater, there] of byHeater(facts, bakes)) checkSetpoints(facts, heater, there);
  for (const [unit, there] of grouped(bakes, unitOf)) {
    checkPanTypes(facts, unit, there);
    checkProgram(facts, unit, there);
  }
}
