import type { Deck, Oven } from "../../schemas/index.js";
import { deckLimit } from "./count.js";
import { clockText, type Facts, type LoadFact, ovenAt, stepOf, type TaskFact } from "./facts.js";
import { checkItems, checkPositions, staysOf } from "./places.js";
import { grouped, overlaps } from "./sweep.js";
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

function bakesOf(facts: Facts): Bake[] {
  const bakes: Bake[] = [];
  for (const load of facts.loads) {
    for (const fact of load.tasks) {
      const bake = fact.task.does === "bake" ? bakeOf(facts, load, fact) : null;
      if (bake) bakes.push(bake);
    }
  }
  return bakes;
}

function bakeOf(facts: Facts, load: LoadFact, fact: TaskFact): Bake | null {
  const step = stepOf(load.route, "bake");
  if (!step) return null;
  const { task } = fact;
  const found = ovenAt(facts, task.unit);
  if (!found || !task.unit?.startsWith(`${task.site}/`)) {
    facts.report.add("R10", "no-deck", `${task.id} is on no deck of its site`, [task.id]);
    return null;
  }
  const deck = found.oven.decks[found.deckIndex]!;
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
  const panType = facts.panTypes.get(load.product.panType);
  const height = Math.max(panType?.heightMm ?? 0, load.product.heightMm);
  if (height > deck.clearHeightMm)
    facts.report.add(
      "R10",
      "too-high",
      `${task.id} is ${height} mm high, ${task.unit} clears ${deck.clearHeightMm} mm`,
      [task.id],
      { unit: task.unit },
    );
  const limit = panType ? deckLimit(deck, panType) : 0;
  for (const place of task.places ?? []) {
    if (place.unit !== task.unit)
      facts.report.add("R10", "foreign-place", `${place.item} of ${task.id} lies on ${place.unit}`, [task.id], {
        unit: place.unit,
      });
    if (place.position > limit)
      facts.report.add(
        "R10",
        "no-such-position",
        `${place.item} is in position ${place.position} of ${task.unit}, which has ${limit} for ${load.product.panType}`,
        [task.id],
        { unit: task.unit },
      );
  }
  checkItems(facts, "R10", load, fact, "pans");
  return {
    load,
    fact,
    deck,
    oven: found.oven,
    unit: task.unit,
    from: fact.start,
    to: fact.end,
    tempC: task.tempC ?? step.tempC,
  };
}

function changeMinutes(decks: readonly Deck[], fromC: number, toC: number): number {
  let rate = Number.POSITIVE_INFINITY;
  for (const deck of decks) rate = Math.min(rate, toC > fromC ? deck.heatUpCPerMinute : deck.coolDownCPerMinute);
  return Math.ceil(Math.abs(toC - fromC) / rate - 1e-9);
}

/** Loads on one thermostat: one setpoint at a time, empty while it changes. */
function checkSetpoints(facts: Facts, heater: string, bakes: readonly Bake[]): void {
  const decks = bakes[0]!.oven.sharedThermostat ? bakes[0]!.oven.decks : [bakes[0]!.deck];
  const sorted = [...bakes].sort(byStart);
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

function heaterOf({ oven, unit }: Bake): string {
  return oven.sharedThermostat ? unit.split("/").slice(0, 2).join("/") : unit;
}

function unitOf({ unit }: Bake): string {
  return unit;
}

function checkPanTypes(facts: Facts, unit: string, bakes: readonly Bake[]): void {
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

/** The oven program covers every bake with its preheat lead time, and has the deck hot at the right setpoint. */
function checkProgram(facts: Facts, unit: string, bakes: readonly Bake[]): void {
  const { report } = facts;
  const { oven, deck } = bakes[0]!;
  const lead = heaterLead(oven, deck, facts.sites.get(unit.split("/")[0]!)!);
  const decks = oven.sharedThermostat ? oven.decks : [deck];
  const program = facts.timetable.ovenProgram.find((entry) => entry.deck === unit);
  const on = (program?.on ?? []).map((span) => ({
    from: instantSeconds(span.from) / 60,
    to: instantSeconds(span.to) / 60,
  }));
  const setpoints = (program?.setpoints ?? []).map((set) => ({
    at: instantSeconds(set.at) / 60,
    hotFrom: instantSeconds(set.hotFrom) / 60,
    tempC: set.tempC,
  }));
  for (const { fact, from, to, tempC } of bakes) {
    const span = on.find((candidate) => candidate.from + lead <= from && to <= candidate.to);
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
    const set = setpoints
      .filter((candidate) => candidate.at >= span.from && candidate.at <= from)
      .sort((a, b) => a.at - b.at)
      .at(-1);
    if (!set || set.tempC !== tempC || set.hotFrom > from)
      report.add(
        "R10",
        "not-hot",
        `${unit} is not at ${tempC} C for ${fact.task.id} at ${clockText(from)}`,
        [fact.task.id],
        { unit },
      );
    const changed = setpoints.find((candidate) => candidate.at > from && candidate.at < to);
    if (changed)
      report.add(
        "R10",
        "setpoint-change",
        `the setpoint of ${unit} is changed at ${clockText(changed.at)}, while ${fact.task.id} bakes`,
        [fact.task.id],
        { unit },
      );
  }
  for (const span of on) {
    const inside = setpoints.filter((set) => set.at >= span.from && set.at < span.to).sort((a, b) => a.at - b.at);
    inside.forEach((set, i) => {
      const needed = i === 0 ? lead : changeMinutes(decks, inside[i - 1]!.tempC, set.tempC);
      if (set.hotFrom - set.at < needed)
        report.add(
          "R10",
          "hot-too-soon",
          `${unit} is said to be at ${set.tempC} C ${set.hotFrom - set.at} min after ${clockText(set.at)}, it takes ${needed}`,
          [],
          { unit },
        );
    });
  }
}

/** R10: deck positions, one setpoint and one pan type at a time, changes empty, preheat lead time, door recovery. */
export function checkDecks(facts: Facts): void {
  const bakes = bakesOf(facts);
  checkPositions(facts, "R10", staysOf(facts, "bake"));
  for (const [heater, there] of grouped(bakes, heaterOf)) checkSetpoints(facts, heater, there);
  for (const [unit, there] of grouped(bakes, unitOf)) {
    checkPanTypes(facts, unit, there);
    checkProgram(facts, unit, there);
  }
}
