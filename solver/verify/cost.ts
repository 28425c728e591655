import type { CostPart } from "../../schemas/index.js";
import { unitOf } from "./cleaning.js";
import { crewLine, crewUse } from "./crew-lines.js";
import { deckAt, type Facts, inOrder, kettleAt, type TaskFact, tasksThat } from "./facts.js";
import { grouped, ordered } from "./sweep.js";
import { instantSeconds } from "./time.js";

type Sums = Map<CostPart["for"], number>;

function orderCosts(facts: Facts, sums: Sums): void {
  const { day, timetable } = facts;
  const weights = {
    shortPerPiece: 20,
    latePerPieceHour: 1,
    earlyPerPieceHour: 0.01,
    freshForMinutes: 90,
    ...day.settings.weights,
  };
  let late = 0;
  let early = 0;
  let short = 0;
  const made = new Map<string, number>();
  for (const { load, finished, delivered } of facts.loads) {
    for (const { line: id, pieces } of load.orders) {
      made.set(id, (made.get(id) ?? 0) + pieces);
      const fact = facts.lines.get(id);
      if (fact?.due === undefined || !Number.isFinite(finished)) continue;
      const { line, due } = fact;
      late += (pieces * (line.priority ?? 1) * Math.max(0, delivered - due) * weights.latePerPieceHour) / 60;
      early += (pieces * Math.max(0, due - finished - weights.freshForMinutes) * weights.earlyPerPieceHour) / 60;
    }
  }
  for (const line of day.orders.lines)
    short += Math.max(0, line.pieces - (made.get(line.id) ?? 0)) * (line.priority ?? 1) * weights.shortPerPiece;
  sums.set("late", late).set("early", early).set("short", short);
  const runs = new Map(day.network.vanRuns.map((run) => [run.id, run.cost]));
  let rides = 0;
  for (const van of timetable.vans) rides += runs.get(van.run) ?? 0;
  sums.set("van-runs", rides);
}

function heaterOf(facts: Facts, unit: string): string {
  return deckAt(facts, unit)?.oven.sharedThermostat ? facts.units.at(unit).station : unit;
}

/** Bakes on a deck, by what heats it. */
function bakesByHeater(facts: Facts): Map<string, TaskFact[]> {
  const onUnit = grouped(tasksThat(facts, "bake"), unitOf);
  const found = new Map<string, TaskFact[]>();
  for (const [unit, bakes] of onUnit) {
    if (bakes[0]!.task.unit === undefined) continue;
    const heater = heaterOf(facts, unit);
    const own = found.get(heater);
    if (own) own.push(...bakes);
    else found.set(heater, bakes);
  }
  return found;
}

function heatCosts(facts: Facts, sums: Sums): void {
  const { timetable, day } = facts;
  const add = (
    what: CostPart["for"],
    unit: string,
    spans: readonly { from: string; to: string }[],
    kw: number,
  ): void => {
    const price = facts.units.at(unit).site?.energyPricePerKwh ?? 0;
    let minutes = 0;
    for (const { from, to } of spans) minutes += (instantSeconds(to) - instantSeconds(from)) / 60;
    sums.set(what, (sums.get(what) ?? 0) + (minutes / 60) * kw * price);
  };
  for (const program of timetable.ovenProgram) {
    const found = deckAt(facts, program.deck);
    if (found) add("oven-energy", program.deck, program.on, found.deck.powerKw);
  }
  for (const program of timetable.kettleProgram) {
    const kettle = kettleAt(facts, program.kettle);
    if (kettle) add("kettle-energy", program.kettle, program.on, kettle.netHeatW / 1000);
  }
  let changes = 0;
  for (const there of bakesByHeater(facts).values()) {
    ordered(there, inOrder);
    for (let i = 1; i < there.length; i++) if (there[i]!.task.tempC !== there[i - 1]!.task.tempC) changes++;
  }
  sums.set("setpoint-changes", changes * (day.settings.weights?.setpointChange ?? 1));
}

function overtimeCosts(facts: Facts, sums: Sums): void {
  let amount = 0;
  for (const site of facts.sites.values()) {
    for (const group of site.crew) {
      if (!group.shifts.some((shift) => shift.overtimeCostPerHour !== undefined)) continue;
      const used = crewUse(facts, site.id, group.id);
      if (used === null) continue;
      const line = crewLine(facts, site, group);
      for (let t = 0; t < used.length; t++) {
        let beyond = used[t]! - line.regular[t]!;
        if (beyond <= 0) continue;
        for (const { costPerHour, heads: extra } of line.overtime) {
          const taken = Math.min(Math.max(0, beyond), extra[t]!);
          amount += (taken * costPerHour) / 60;
          beyond -= taken;
        }
      }
    }
  }
  sums.set("overtime", amount);
}

/** The cost that the timetable states is what its tasks give (D19). */
export function checkCost(facts: Facts): void {
  const sums: Sums = new Map();
  orderCosts(facts, sums);
  heatCosts(facts, sums);
  overtimeCosts(facts, sums);
  const stated = new Map(facts.timetable.cost.parts.map((part) => [part.for, part.amount]));
  const near = (a: number, b: number): boolean => Math.abs(a - b) <= 0.01 + 1e-6 * Math.abs(b);
  let total = 0;
  for (const [what, amount] of sums) {
    total += amount;
    const said = stated.get(what) ?? 0;
    if (!near(said, amount))
      facts.report.add(
        "form",
        "cost",
        `the ${what} cost is ${amount.toFixed(2)}, the timetable says ${said.toFixed(2)}`,
      );
  }
  if (!near(facts.timetable.cost.total, total))
    facts.report.add(
      "form",
      "cost",
      `the total cost is ${total.toFixed(2)}, the timetable says ${facts.timetable.cost.total.toFixed(2)}`,
    );
  const { bound } = facts.timetable;
  if (bound !== undefined && bound > total + 0.01 + 1e-6 * total)
    facts.report.add("form", "bound", `the bound ${bound.toFixed(2)} is above the cost ${total.toFixed(2)}`);
}
