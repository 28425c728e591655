import type { CostPart } from "../../schemas/index.js";
import { crewLine, crewUse } from "./crew-lines.js";
import { type Facts, kettleAt, ovenAt, readyTimes } from "./facts.js";
import { grouped } from "./sweep.js";
import { instantSeconds, whenMinute } from "./time.js";

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
  const lines = new Map(day.orders.lines.map((line) => [line.id, line]));
  const add = (what: CostPart["for"], amount: number): void => {
    sums.set(what, (sums.get(what) ?? 0) + amount);
  };
  const made = new Map<string, number>();
  for (const load of facts.loads) {
    const { finished, delivered } = readyTimes(load);
    for (const { line: id, pieces } of load.load.orders) {
      const line = lines.get(id);
      const zone = facts.sites.get(line?.site ?? "")?.timeZone;
      made.set(id, (made.get(id) ?? 0) + pieces);
      if (!line || zone === undefined || !Number.isFinite(finished)) continue;
      const due = whenMinute(line.due, zone);
      add("late", (pieces * (line.priority ?? 1) * Math.max(0, delivered - due) * weights.latePerPieceHour) / 60);
      add("early", (pieces * Math.max(0, due - finished - weights.freshForMinutes) * weights.earlyPerPieceHour) / 60);
    }
  }
  for (const line of day.orders.lines)
    add("short", Math.max(0, line.pieces - (made.get(line.id) ?? 0)) * (line.priority ?? 1) * weights.shortPerPiece);
  const runs = new Map(day.network.vanRuns.map((run) => [run.id, run.cost]));
  for (const van of timetable.vans) add("van-runs", runs.get(van.run) ?? 0);
}

function heatCosts(facts: Facts, sums: Sums): void {
  const { timetable, day } = facts;
  const add = (
    what: CostPart["for"],
    unit: string,
    spans: readonly { from: string; to: string }[],
    kw: number,
  ): void => {
    const price = facts.sites.get(unit.split("/")[0]!)?.energyPricePerKwh ?? 0;
    const minutes = spans.reduce((sum, span) => sum + (instantSeconds(span.to) - instantSeconds(span.from)) / 60, 0);
    sums.set(what, (sums.get(what) ?? 0) + (minutes / 60) * kw * price);
  };
  for (const program of timetable.ovenProgram) {
    const found = ovenAt(facts, program.deck);
    if (found) add("oven-energy", program.deck, program.on, found.oven.decks[found.deckIndex]!.powerKw);
  }
  for (const program of timetable.kettleProgram) {
    const kettle = kettleAt(facts, program.kettle);
    if (kettle) add("kettle-energy", program.kettle, program.on, kettle.netHeatW / 1000);
  }
  const bakes = facts.tasks.filter(({ task }) => task.does === "bake" && task.unit !== undefined);
  const heaterOf = (unit: string): string =>
    ovenAt(facts, unit)?.oven.sharedThermostat ? unit.split("/").slice(0, 2).join("/") : unit;
  let changes = 0;
  for (const there of grouped(bakes, ({ task }) => heaterOf(task.unit!)).values()) {
    const sorted = [...there].sort((a, b) => a.start - b.start || a.end - b.end);
    sorted.forEach((bake, i) => {
      if (i > 0 && bake.task.tempC !== sorted[i - 1]!.task.tempC) changes++;
    });
  }
  sums.set("setpoint-changes", changes * (day.settings.weights?.setpointChange ?? 1));
}

function overtimeCosts(facts: Facts, sums: Sums): void {
  let amount = 0;
  for (const site of facts.sites.values()) {
    for (const group of site.crew) {
      if (!group.shifts.some((shift) => shift.overtimeCostPerHour !== undefined)) continue;
      const used = crewUse(facts, site.id, group.id);
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
