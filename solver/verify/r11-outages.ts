import { clockText, type Facts } from "./facts.js";
import { instantSeconds, whenMinute } from "./time.js";

interface Occupation {
  readonly unit: string;
  readonly from: number;
  readonly to: number;
  readonly task: string | null;
}

function occupations(facts: Facts): Occupation[] {
  const found: Occupation[] = [];
  for (const { task, start, end } of facts.tasks) {
    if (task.unit !== undefined) found.push({ unit: task.unit, from: start, to: end, task: task.id });
    for (const place of task.places ?? []) found.push({ unit: place.unit, from: start, to: end, task: task.id });
  }
  const on = (unit: string, span: { from: string; to: string }): Occupation => ({
    unit,
    from: instantSeconds(span.from) / 60,
    to: instantSeconds(span.to) / 60,
    task: null,
  });
  for (const program of facts.timetable.ovenProgram) for (const span of program.on) found.push(on(program.deck, span));
  for (const program of facts.timetable.kettleProgram)
    for (const span of program.on) found.push(on(program.kettle, span));
  return found;
}

/** R11: nothing is on a unit, or heats it, while it is out of service. D15. */
export function checkOutages(facts: Facts): void {
  const all = occupations(facts);
  for (const happening of facts.day.happenings.happenings) {
    if (happening.kind !== "out-of-service") continue;
    const zone = facts.sites.get(happening.unit.split("/")[0]!)?.timeZone;
    if (zone === undefined) continue;
    const from = whenMinute(happening.from, zone);
    const to = happening.to === undefined ? Number.POSITIVE_INFINITY : whenMinute(happening.to, zone);
    // A shared thermostat's on-time goes on while one of its decks is out; only the whole oven's outage switches it off.
    for (const use of all) {
      const isPart = use.unit === happening.unit || use.unit.startsWith(`${happening.unit}/`);
      if (!isPart || use.from >= to || use.to <= from || use.from === use.to) continue;
      if (use.task === null && sharesHeat(facts, use.unit) && use.unit === happening.unit) continue;
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
}

function sharesHeat(facts: Facts, unit: string): boolean {
  const [site, id] = unit.split("/");
  return facts.sites.get(site!)?.ovens.find((oven) => oven.id === id)?.sharedThermostat ?? false;
}
