import type { Instant } from "../../schemas/index.js";
import { formatInstant } from "../calendar.js";
import type { BegunLoad, BegunTask } from "../problem/begun.js";
import type { LoadSpec } from "../problem/explode.js";
import type { Problem } from "../problem/index.js";
import type { ModeMeaning } from "../problem/modes.js";
import { MAX_OPERATIONS, MAX_TAKES, type Mode, type Operation } from "../search/model.js";
import type { PlanCopy } from "../search/plan.js";

/** A load that is made: what it is, how, and when. Minutes of the window. */
export interface MadeLoad {
  readonly number: number;
  readonly spec: LoadSpec;
  readonly mode: Mode;
  readonly meaning: ModeMeaning;
  readonly mixEnd: number;
  /** Start and end of each operation. */
  readonly starts: readonly number[];
  readonly ends: readonly number[];
  readonly finish: number;
  readonly delivered: number;
  readonly takes: readonly Take[];
}

export interface Take {
  readonly row: number;
  readonly from: number;
  readonly to: number;
  readonly amount: number;
}

export interface MadeBatch {
  readonly number: number;
  readonly site: string;
  readonly mixer: string;
  readonly start: number;
  readonly end: number;
  readonly crewRow: number;
  readonly loads: readonly MadeLoad[];
}

function takesOf(plan: PlanCopy, load: number): Take[] {
  return Array.from({ length: plan.takeCount[load]! }, (_, i) => {
    const at = (load * MAX_TAKES + i) * 4;
    return { row: plan.takes[at]!, from: plan.takes[at + 1]!, to: plan.takes[at + 2]!, amount: plan.takes[at + 3]! };
  });
}

function madeLoad(problem: Problem, plan: PlanCopy, load: number, mixEnd: number): MadeLoad {
  const modeIndex = plan.mode[load]!;
  const { id } = problem.loads[load]!;
  // Of a load that has begun the search knows only what is ahead of it.
  const mode = problem.begun?.modes.get(id)?.[modeIndex] ?? problem.model.loads[load]!.modes[modeIndex]!;
  const at = load * MAX_OPERATIONS;
  const starts = mode.operations.map((_, k) => plan.start[at + k]!);
  const ends = mode.operations.map(
    (operation, k) => starts[k]! + operation.alternatives[plan.alternative[at + k]!]!.minutes,
  );
  const finish = plan.finish[load]!;
  return {
    number: load,
    spec: problem.loads[load]!,
    mode,
    meaning: problem.modes[load]![modeIndex]!,
    mixEnd,
    starts,
    ends,
    finish,
    delivered: mode.deliveredAt >= 0 ? mode.deliveredAt : finish,
    takes: [...(problem.begun?.uses.get(id) ?? []), ...takesOf(plan, load)],
  };
}

/** The batches that are mixed, with the loads that are made of them. */
export function madeBatches(problem: Problem, plan: PlanCopy): MadeBatch[] {
  return problem.model.batches.flatMap((batch, b) => {
    const option = plan.mixOption[b]!;
    if (option < 0) return [];
    const { site, mixer } = problem.mixes[b]![option]!;
    const start = plan.mixStart[b]!;
    const end = start + batch.options[option]!.minutes;
    const loads = [...batch.loads].filter((load) => plan.mode[load]! >= 0);
    const made = loads.map((load) => madeLoad(problem, plan, load, end));
    return [{ number: b, site, mixer, start, end, crewRow: plan.mixCrew[b]!, loads: made }];
  });
}

/** What a load takes of a unit for an operation that starts then. */
export function takeOn(load: MadeLoad, { alternatives }: Operation, start: number): Take | undefined {
  return load.takes.find((take) => take.from === start && alternatives.some(({ row }) => row === take.row));
}

/** A load that was begun and is thrown away. */
export interface ScrappedLoad {
  readonly begun: BegunLoad;
  readonly minute: number;
  readonly why: string;
  readonly tasks: readonly (BegunTask & { readonly end: number })[];
  readonly takes: readonly Take[];
}

/** Loads that were begun and are not in the plan. */
export function scrappedLoads(problem: Problem, plan: PlanCopy): ScrappedLoad[] {
  const { begun } = problem;
  if (!begun) return [];
  return problem.loads.flatMap((spec, load) => {
    const one = begun.loads.get(spec.id);
    if (!one || plan.mode[load]! >= 0) return [];
    const mixEnd = begun.batches.get(one.batch)!.mix.end!;
    const minute = one.scrapped?.minute ?? Math.max(begun.at, mixEnd);
    const why = one.scrapped?.why ?? "There is no room in time for the rest of its way.";
    const tasks = one.tasks
      .filter((task) => task.start <= minute)
      .map((task) => ({ ...task, end: Math.min(task.end ?? minute, minute) }));
    const takes = (begun.uses.get(spec.id) ?? []).map((take) => ({ ...take, to: Math.min(take.to, minute) }));
    return [{ begun: one, minute, why, tasks, takes: takes.filter((take) => take.to > take.from) }];
  });
}

/** Writes minutes of the window as instants of a site. */
export type Clock = (minute: number, site: string) => Instant;

export function createClock(problem: Problem): Clock {
  const { origin, sites } = problem.index;
  const known = new Map<string, Map<number, Instant>>();
  return (minute, site) => {
    const zone = sites.get(site)!.timeZone;
    let texts = known.get(zone);
    if (!texts) {
      texts = new Map();
      known.set(zone, texts);
    }
    let text = texts.get(minute);
    if (text === undefined) {
      text = formatInstant(origin + minute, zone);
      texts.set(minute, text);
    }
    return text;
  };
}
