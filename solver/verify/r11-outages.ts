import type { Happening } from "../../schemas/index.js";
import { clockText, type Facts, isFact } from "./facts.js";
import { overuses } from "./sweep.js";
import { instantSeconds, whenMinute } from "./time.js";

interface Occupation {
  readonly unit: string;
  readonly from: number;
  readonly to: number;
  readonly task: string | null;
}

type Outage = Extract<Happening, { kind: "out-of-service" }>;

/** Units of an outage: the one that is out, and its parts. */
class OutUnits {
  private readonly parts: string;

  constructor(private readonly unit: string) {
    this.parts = `${unit}/`;
  }

  has(unit: string): boolean {
    return unit === this.unit || unit.startsWith(this.parts);
  }
}

/** What is on the units of an outage or heats them: what tasks are on, their places, ovens, kettles. */
function occupations(facts: Facts, out: OutUnits): Occupation[] {
  const found: Occupation[] = [];
  for (const { task, start, end } of facts.tasks) {
    const { id, unit, places } = task;
    if (unit !== undefined && out.has(unit)) found.push({ unit, from: start, to: end, task: id });
    if (places)
      for (const place of places)
        if (out.has(place.unit)) found.push({ unit: place.unit, from: start, to: end, task: id });
  }
  for (const { deck, on } of facts.timetable.ovenProgram) if (out.has(deck)) addHeating(found, deck, on);
  for (const { kettle, on } of facts.timetable.kettleProgram) if (out.has(kettle)) addHeating(found, kettle, on);
  return found;
}

function addHeating(found: Occupation[], unit: string, on: readonly { from: string; to: string }[]): void {
  for (const { from, to } of on)
    found.push({ unit, from: instantSeconds(from) / 60, to: instantSeconds(to) / 60, task: null });
}

/** R11: nothing is on a unit, or heats it, while it is out of service. D15. */
export function checkOutages(facts: Facts): void {
  for (const happening of facts.day.happenings.happenings)
    if (happening.kind === "out-of-service") checkOutage(facts, happening);
}

function checkOutage(facts: Facts, outage: Outage): void {
  const zone = facts.sites.get(outage.unit.split("/")[0]!)?.timeZone;
  if (zone === undefined) return;
  const from = whenMinute(outage.from, zone);
  const to = outage.to === undefined ? Number.POSITIVE_INFINITY : whenMinute(outage.to, zone);
  // A shared thermostat's on-time goes on while one of its decks is out; only the whole oven's outage switches it off.
  for (const use of occupations(facts, new OutUnits(outage.unit))) {
    if (use.from >= to || use.to <= from || use.from === use.to) continue;
    // What was on it before the instant of the report is past: R14 says what may go on.
    if (facts.at !== null && Math.min(use.to, to) <= facts.at) continue;
    if (use.task === null && sharesHeat(facts, use.unit) && use.unit === outage.unit) continue;
    if (use.task !== null && (finishesThere(facts, use.task) || isCleanedOut(facts, use.task, from))) continue;
    const what = use.task ?? "its heating";
    facts.report.add(
      "R11",
      "out-of-service",
      `${use.unit} is out of service from ${clockText(from)}, but ${what} is on it from ${clockText(use.from)} to ${clockText(use.to)}`,
      use.task ? [use.task] : [],
      { unit: use.unit },
    );
  }
}

/** A cleaning that had begun when its unit failed is finished. */
function isCleanedOut(facts: Facts, id: string, failed: number): boolean {
  const now = facts.tasksById.get(id);
  const before = facts.before.get(id);
  if (facts.at === null || now?.task.does !== "clean" || before?.does !== "clean") return false;
  const isAsItWas = before.unit === now.task.unit && instantSeconds(before.start) === now.start * 60;
  return isAsItWas && now.start < facts.at && now.start < failed;
}

/** A bake that had begun when its deck failed, of a route that leaves it there. */
function finishesThere(facts: Facts, id: string): boolean {
  const load = facts.loadsById.get(facts.tasksById.get(id)?.task.load ?? "");
  const bake = load?.way.bake;
  const fact = facts.begun.get(id);
  if (fact?.failsAt === null || fact === undefined) return false;
  const does = load?.tasks.find(({ task }) => task.id === id)?.task.does;
  return does === "bake"
    ? bake?.ifInterrupted === "finish-there"
    : does === "shape" || does === "top" || does === "pack";
}

/** R11: positions or places that a unit has lost are not used while it is smaller. D21. */
export function checkSmaller(facts: Facts): void {
  for (const happening of facts.day.happenings.happenings) {
    if (happening.kind !== "smaller") continue;
    const { unit, positions } = happening;
    const zone = facts.sites.get(unit.split("/")[0]!)?.timeZone;
    if (zone === undefined) continue;
    const from = whenMinute(happening.from, zone);
    const to = happening.to === undefined ? Number.POSITIVE_INFINITY : whenMinute(happening.to, zone);
    const isBench = facts.sites.get(unit.split("/")[0]!)?.benches.some(({ id }) => unit.endsWith(`/${id}`)) ?? false;
    const within = facts.tasks.filter(({ start, end }) => start < to && end > from && end > start);
    for (const { task } of within) {
      const place = task.places?.find((candidate) => candidate.unit === unit && candidate.position > positions);
      if (place && !isFact(facts, task.id))
        facts.report.add(
          "R11",
          "smaller",
          `${place.item} is in position ${place.position} of ${unit}, of which ${positions} can be used from ${clockText(from)}`,
          [task.id],
          { unit },
        );
    }
    if (!isBench) continue;
    const uses = within
      .filter(({ task }) => task.unit === unit && task.does !== "clean")
      .map(({ task, start, end }) => ({
        from: Math.max(start, from),
        to: Math.min(end, to),
        amount: task.crew?.heads ?? 1,
        task: task.id,
      }));
    for (const { at, used, tasks } of overuses(uses, positions)) {
      if (tasks.every((id) => isFact(facts, id))) continue;
      facts.report.add(
        "R11",
        "smaller",
        `${unit} has ${used} people at ${clockText(at)}, ${positions} of its places can be used`,
        tasks,
        { unit },
      );
    }
  }
}

function sharesHeat(facts: Facts, unit: string): boolean {
  return facts.units.at(unit).oven?.sharedThermostat ?? false;
}
