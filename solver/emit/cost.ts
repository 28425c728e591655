import type { Cost, CostPart, CrewGroup, VanTrip } from "../../schemas/index.js";
import { absencesOf, crewCapacity } from "../calendar.js";
import type { Problem } from "../problem/index.js";
import type { MadeBatch, MadeLoad, ScrappedLoad, Take } from "./context.js";
import type { HeatPlan } from "./heat.js";

function part(name: CostPart["for"], amount: number, quantity: number, unit: CostPart["unit"]): CostPart {
  return { for: name, amount, quantity, unit };
}

/** Pieces of each line that are made, by line id. */
export function madePieces(loads: readonly MadeLoad[]): Map<string, number> {
  const made = new Map<string, number>();
  for (const load of loads) {
    for (const { want, pieces } of load.spec.portions) made.set(want.line.id, (made.get(want.line.id) ?? 0) + pieces);
  }
  return made;
}

function shortPart(problem: Problem, loads: readonly MadeLoad[]): CostPart {
  const { wants, weights } = problem.index;
  const made = madePieces(loads);
  let pieces = 0;
  let amount = 0;
  for (const { line, priority } of wants) {
    const short = Math.max(0, line.pieces - (made.get(line.id) ?? 0));
    pieces += short;
    amount += short * priority * weights.shortPerPiece;
  }
  return part("short", amount, pieces, "pieces");
}

function timeParts(problem: Problem, loads: readonly MadeLoad[]): CostPart[] {
  const { weights } = problem.index;
  const late = { amount: 0, quantity: 0 };
  const early = { amount: 0, quantity: 0 };
  for (const load of loads) {
    for (const { want, pieces } of load.spec.portions) {
      const lateMinutes = Math.max(0, load.delivered - want.due);
      late.quantity += pieces * lateMinutes;
      late.amount += (pieces * want.priority * lateMinutes * weights.latePerPieceHour) / 60;
      const earlyMinutes = Math.max(0, want.due - load.finish - weights.freshForMinutes);
      early.quantity += pieces * earlyMinutes;
      early.amount += (pieces * earlyMinutes * weights.earlyPerPieceHour) / 60;
    }
  }
  return [
    part("late", late.amount, late.quantity, "piece-minutes"),
    part("early", early.amount, early.quantity, "piece-minutes"),
  ];
}

/** Head-minutes beyond the regular heads, cheapest overtime first (D7). */
function groupOvertime(problem: Problem, site: string, group: CrewGroup, used: Int32Array) {
  const { origin, horizon, sites, day } = problem.index;
  const { timeZone } = sites.get(site)!;
  const absences = absencesOf(day.happenings, sites.get(site)!, group.id);
  const capacity = crewCapacity(group, timeZone, absences, { fromMinute: origin, toMinute: origin + horizon });
  let minutes = 0;
  let amount = 0;
  for (let t = 0; t < horizon; t++) {
    let beyond = used[t]! - capacity.regular[t]!;
    for (const { capacity: extra, costPerHour } of capacity.overtime) {
      if (beyond <= 0) break;
      const taken = Math.min(beyond, extra[t]!);
      minutes += taken;
      amount += (taken * costPerHour) / 60;
      beyond -= taken;
    }
  }
  return { minutes, amount };
}

const NO_TAKES: readonly Take[] = [];

function overtimePart(
  problem: Problem,
  batches: readonly MadeBatch[],
  loads: readonly Pick<MadeLoad, "takes">[],
): CostPart {
  const { book } = problem.prepared;
  const used = new Map<number, Int32Array>();
  const mayBeOvertime = book.overtimeRates;
  const add = (row: number, from: number, to: number, heads: number): void => {
    if (!mayBeOvertime.has(row)) return;
    const line = used.get(row) ?? new Int32Array(problem.index.horizon);
    used.set(row, line);
    for (let t = from; t < to; t++) line[t] = line[t]! + heads;
  };
  const addTakes = (takes: readonly Take[]): void => {
    for (const take of takes)
      if (book.meanings[take.row]!.kind === "crew") add(take.row, take.from, take.to, take.amount);
  };
  for (const batch of batches) {
    const crew = problem.model.batches[batch.number]!.options[0]!.crew;
    if (batch.crewRow >= 0 && crew) add(batch.crewRow, batch.start, batch.end, crew.heads);
  }
  for (const load of loads) addTakes(load.takes);
  for (const batch of batches) addTakes(problem.begun?.uses.get(problem.batches[batch.number]!.id) ?? NO_TAKES);
  let minutes = 0;
  let amount = 0;
  for (const [row, line] of used) {
    const { site, of } = book.meanings[row]!;
    const group = problem.index.sites.get(site)!.crew.find((candidate) => candidate.id === of)!;
    if (!group.shifts.some((shift) => shift.overtimeCostPerHour !== undefined)) continue;
    const overtime = groupOvertime(problem, site, group, line);
    minutes += overtime.minutes;
    amount += overtime.amount;
  }
  return part("overtime", amount, minutes, "head-minutes");
}

/** The cost of a plan added up from nothing (D19); the search's own running sum is not used. */
export function costOf(
  problem: Problem,
  batches: readonly MadeBatch[],
  loads: readonly MadeLoad[],
  scrapped: readonly ScrappedLoad[],
  heat: HeatPlan,
  vans: readonly VanTrip[],
): Cost {
  const runs = new Map(problem.index.day.network.vanRuns.map((run) => [run.id, run.cost]));
  const parts = [
    shortPart(problem, loads),
    ...timeParts(problem, loads),
    part("oven-energy", heat.ovenCost, heat.ovenKwh, "kWh"),
    part("kettle-energy", heat.kettleCost, heat.kettleKwh, "kWh"),
    part("setpoint-changes", heat.changes * problem.index.weights.setpointChange, heat.changes, "changes"),
    overtimePart(problem, batches, [...loads, ...scrapped]),
    part(
      "van-runs",
      vans.reduce((sum, van) => sum + runs.get(van.run)!, 0),
      vans.length,
      "runs",
    ),
  ];
  return { total: parts.reduce((sum, { amount }) => sum + amount, 0), parts };
}
