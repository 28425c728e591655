import type { Instant, Network } from "../../schemas/index.js";
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
  /** Of a bake that has begun: what its deck was set to. */
  readonly tempC?: number | undefined;
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

/** Takes of what has begun of a load, then those of the search. */
function takesOf(plan: PlanCopy, load: number, begun: readonly Take[] | undefined): Take[] {
  const takes: Take[] = begun ? begun.slice() : [];
  for (let i = 0; i < plan.takeCount[load]!; i++) {
    const at = (load * MAX_TAKES + i) * 4;
    takes.push({
      row: plan.takes[at]!,
      from: plan.takes[at + 1]!,
      to: plan.takes[at + 2]!,
      amount: plan.takes[at + 3]!,
    });
  }
  return takes;
}

function madeLoad(problem: Problem, plan: PlanCopy, load: number, mixEnd: number): MadeLoad {
  const modeIndex = plan.mode[load]!;
  const { id } = problem.loads[load]!;
  // Of a load that has begun the search knows only what is ahead of it.
  const mode = problem.begun?.modes.get(id)?.[modeIndex] ?? problem.model.loads[load]!.modes[modeIndex]!;
  const meaning = problem.modes[load]![modeIndex]!;
  const at = load * MAX_OPERATIONS;
  const count = mode.operations.length;
  const starts: number[] = new Array(count);
  const ends: number[] = new Array(count);
  for (let k = 0; k < count; k++) {
    const start = plan.start[at + k]!;
    starts[k] = start;
    ends[k] = start + mode.operations[k]!.alternatives[plan.alternative[at + k]!]!.minutes;
  }
  const finish = plan.finish[load]!;
  return {
    number: load,
    spec: problem.loads[load]!,
    mode,
    meaning,
    mixEnd,
    starts,
    ends,
    finish,
    // The search knows no minute beyond the window.
    delivered: mode.deliveredAt >= 0 ? (meaning.trip?.delivered ?? mode.deliveredAt) : finish,
    takes: takesOf(plan, load, problem.begun?.uses.get(id)),
  };
}

function madeBatch(problem: Problem, plan: PlanCopy, number: number): MadeBatch | null {
  const option = plan.mixOption[number]!;
  if (option < 0) return null;
  const batch = problem.model.batches[number]!;
  const { site, mixer } = problem.mixes[number]![option]!;
  const start = plan.mixStart[number]!;
  const end = start + batch.options[option]!.minutes;
  const loads: MadeLoad[] = [];
  for (const load of batch.loads) if (plan.mode[load]! >= 0) loads.push(madeLoad(problem, plan, load, end));
  return { number, site, mixer, start, end, crewRow: plan.mixCrew[number]!, loads };
}

/** The batches that are mixed, with the loads that are made of them. */
export function madeBatches(problem: Problem, plan: PlanCopy): MadeBatch[] {
  const made: MadeBatch[] = [];
  for (let b = 0; b < problem.model.batches.length; b++) {
    const batch = madeBatch(problem, plan, b);
    if (batch) made.push(batch);
  }
  return made;
}

/** What a load takes of a unit for an operation that starts then. */
export function takeOn(load: MadeLoad, { alternatives }: Operation, start: number): Take | undefined {
  for (const take of load.takes) {
    if (take.from !== start) continue;
    for (const { row } of alternatives) if (row === take.row) return take;
  }
  return undefined;
}

/** A load that was begun and is thrown away. */
export interface ScrappedLoad {
  readonly begun: BegunLoad;
  readonly minute: number;
  readonly why: string;
  readonly tasks: readonly (BegunTask & { readonly end: number })[];
  readonly takes: readonly Take[];
}

function scrappedLoad(problem: Problem, one: BegunLoad, isWanted: boolean): ScrappedLoad {
  const begun = problem.begun!;
  const mixEnd = begun.batches.get(one.batch)!.mix.end!;
  const minute = one.scrapped?.minute ?? Math.max(begun.at, mixEnd);
  const why =
    one.scrapped?.why ??
    begun.noWayOn.get(one.load.id) ??
    (isWanted
      ? "There is no room in time for the rest of its way."
      : "No order wants it any more, and the rest of its way costs room or money.");
  const tasks = one.tasks
    .filter((task) => task.start <= minute)
    .map((task) => ({ ...task, end: Math.min(task.end ?? minute, minute) }));
  const takes = (begun.uses.get(one.load.id) ?? []).map((take) => ({ ...take, to: Math.min(take.to, minute) }));
  return { begun: one, minute, why, tasks, takes: takes.filter((take) => take.to > take.from) };
}

/** Loads that were begun and are not in the plan. */
export function scrappedLoads(problem: Problem, plan: PlanCopy): ScrappedLoad[] {
  const { begun } = problem;
  const scrapped: ScrappedLoad[] = [];
  if (!begun) return scrapped;
  for (let load = 0; load < problem.loads.length; load++) {
    if (plan.mode[load]! >= 0) continue;
    const { id, portions } = problem.loads[load]!;
    const one = begun.loads.get(id);
    if (one) scrapped.push(scrappedLoad(problem, one, portions.length > 0));
  }
  return scrapped;
}

/** Writes minutes of the window as instants of a site. */
export type Clock = (minute: number, site: string) => Instant;

/** The instants of one zone from a window's start on, by minute, as far as they were asked for. */
interface KnownTexts {
  readonly origin: number;
  readonly byZone: Map<string, (Instant | undefined)[]>;
}

const textsKnown = new WeakMap<Network, KnownTexts>();
/** Minutes of a window; what lies outside is written anew each time. */
const MOST_MINUTES = 20_000;

function textsOf(network: Network, origin: number): KnownTexts {
  let known = textsKnown.get(network);
  if (known?.origin !== origin) {
    known = { origin, byZone: new Map() };
    textsKnown.set(network, known);
  }
  return known;
}

/** Kept with the network, so that the same instants are the same texts in all timetables of a day. */
export function createClock({ index }: Problem): Clock {
  const { origin, sites, day } = index;
  const known = textsOf(day.network, origin);
  const bySite = new Map<string, (Instant | undefined)[]>();
  return (minute, site) => {
    let texts = bySite.get(site);
    if (!texts) {
      texts = textsIn(known, sites.get(site)!.timeZone);
      bySite.set(site, texts);
    }
    return texts[minute] ?? written(texts, origin, minute, sites.get(site)!.timeZone);
  };
}

function textsIn({ byZone }: KnownTexts, zone: string): (Instant | undefined)[] {
  let texts = byZone.get(zone);
  if (!texts) {
    texts = [];
    byZone.set(zone, texts);
  }
  return texts;
}

function written(texts: (Instant | undefined)[], origin: number, minute: number, zone: string): Instant {
  const text = formatInstant(origin + minute, zone);
  if (!Number.isInteger(minute) || minute < 0 || minute > MOST_MINUTES) return text;
  while (texts.length < minute) texts.push(undefined);
  texts[minute] = text;
  return text;
}
