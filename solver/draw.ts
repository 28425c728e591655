import type { DayDocuments, Happenings, Reason, Timetable } from "../schemas/index.js";
import { type BoundReader, Proof } from "./bound/proof.js";
import { emitTimetable } from "./emit/index.js";
import { explain } from "./explain.js";
import { locksInTheWay, outdatedLocks } from "./locks.js";
import type { Lp } from "./lp/choose.js";
import { type Plan, pose } from "./pose.js";
import type { Problem } from "./problem/index.js";
import { linesAsTold } from "./problem/told.js";
import { withoutWishes } from "./repair/give-up.js";
import { repair } from "./repair/index.js";
import { createRng } from "./rng.js";
import { construct, mendOrder } from "./search/construct.js";
import { Draft } from "./search/draft.js";
import { improve } from "./search/improve.js";
import { copyPlan } from "./search/plan.js";
import type { ChangeLog } from "./search/together.js";
import { atTrueTimes, withSlack } from "./slack.js";
import { type Breach, verify } from "./verify/index.js";

export { pose } from "./pose.js";

export interface Progress {
  readonly phase: "sizing" | "assigning" | "placing" | "improving" | "verifying";
  readonly iterations: number;
  readonly elapsedMs: number;
  readonly cost?: number;
  readonly shortPieces?: number;
  readonly lateOrders?: number;
  readonly bound?: number;
}

export interface DrawOptions {
  /** Budget; default from the day's settings, else 5 s. With iterations the clock does not matter. */
  readonly seconds?: number;
  readonly iterations?: number;
  readonly seed?: number;
  /** A clock in milliseconds. */
  readonly now: () => number;
  readonly lp: Lp;
  /** Called once with the problem; what it returns is asked for the best bound known whenever that matters. */
  readonly bound?: (problem: Problem) => BoundReader;
  /** Shared by those that draw the same day side by side: large days are searched together. */
  readonly log?: ChangeLog;
  /** What the assignment is asked to keep to. */
  readonly plan?: Plan;
  readonly onProgress?: (progress: Progress) => void;
  /** Shown the best timetable so far, sound but without reasons, now and then when it is better than the last one shown. */
  readonly onTimetable?: (timetable: Timetable) => void;
  /** Asked often; true ends the search and keeps the best plan so far. */
  readonly shouldStop?: () => boolean;
}

export interface DrawResult {
  readonly timetable: Timetable;
  /** Empty unless something is wrong with the program: then the timetable must not be used. */
  readonly breaches: readonly Breach[];
  /** What the timetable is sound with, where it is not the day's: without holds and locks that a repair had to give up. */
  readonly happenings?: Happenings;
  /** Tasks whose hold or lock was given up; missing when there are none. */
  readonly givenUp?: readonly string[];
  readonly firstPlanMs: number;
  readonly elapsedMs: number;
  readonly iterations: number;
}

const DEFAULT_SECONDS = 5;
const PROGRESS_MS = 200;
/** Between timetables shown: each takes some of the search's time. */
const SHOWING_MS = 2000;

export interface Budget {
  readonly seed: number;
  readonly progress: (iterations: number) => number;
  readonly wasStopped: () => boolean;
}

export function budgetOf(day: DayDocuments, options: DrawOptions): Budget {
  const settings = day.settings.search ?? {};
  const iterations = options.iterations ?? (options.seconds === undefined ? settings.iterations : undefined);
  const limitMs = (options.seconds ?? settings.seconds ?? DEFAULT_SECONDS) * 1000;
  const started = options.now();
  let stopped = false;
  return {
    seed: options.seed ?? settings.seed ?? 1,
    wasStopped: () => stopped,
    progress: (done) => {
      if (options.shouldStop?.()) {
        stopped = true;
        return 1;
      }
      if (iterations !== undefined) return iterations === 0 ? 1 : done / iterations;
      return limitMs === 0 ? 1 : (options.now() - started) / limitMs;
    },
  };
}

/** Of every line: whichever was not come to is short for no other reason. */
function stoppedReasons(day: DayDocuments): ReadonlyMap<string, Reason> {
  const text = "The drawing was stopped before it came to all of this order; draw again to have it planned.";
  return new Map(linesAsTold(day).map(({ id }) => [id, { code: "stopped", text }]));
}

/**
 * Draws up a day's timetable: the best plan found in the budget, verified. The day must have passed its checks. Same day, seed and iterations give
 * the same timetable (if the bound is the same too); a budget in seconds only cuts the same course short, unless a log is shared. The search ends early when
 * its plan is proved to be optimal. A day with a timetable in force and an instant at which things stand is repaired instead. Locks that the documents have made
 * impossible since are given up.
 */
export function draw(day: DayDocuments, options: DrawOptions): DrawResult {
  // A day that is under way is not drawn up from nothing: what has begun stays.
  if (day.inForce && day.happenings.at !== undefined) {
    const repaired = repair(day, { ...options, onlyOne: true, searchesOn: true });
    const { givenUp } = repaired.changes;
    return givenUp ? { ...repaired, givenUp } : repaired;
  }
  return drawWithout(day, outdatedLocks(day), options) ?? drawLocked(day, options);
}

/** The day drawn up without some locks; null: it has none of them. */
function drawWithout(day: DayDocuments, locks: ReadonlySet<string>, options: DrawOptions): DrawResult | null {
  const left = withoutWishes(day, locks);
  if (!left) return null;
  const { givenUp = [], happenings = left.happenings, ...drawn } = drawLocked(left, options);
  return { ...drawn, happenings, givenUp: [...locks, ...givenUp] };
}

/** Locks that are in the way of a sound timetable are given up. */
function drawLocked(day: DayDocuments, options: DrawOptions): DrawResult {
  const drawn = drawOnce(day, options);
  return drawWithout(day, locksInTheWay(day, drawn.breaches), options) ?? drawn;
}

function drawOnce(day: DayDocuments, options: DrawOptions): DrawResult {
  const started = options.now();
  const elapsed = (): number => options.now() - started;
  const report = (phase: Progress["phase"], iterations: number, more: Partial<Progress> = {}): void =>
    options.onProgress?.({ phase, iterations, elapsedMs: elapsed(), ...more });
  report("assigning", 0);
  const problem = pose(day, options.lp, options.plan, options.shouldStop);
  const budget = budgetOf(day, options);
  report("placing", 0);
  const slackMinutes = day.settings.slackMinutes ?? 0;
  const draft = new Draft(withSlack(problem.model, slackMinutes), createRng(budget.seed));
  construct(draft, options.shouldStop);
  const isStopped = options.shouldStop?.() ?? false;
  const firstPlanMs = elapsed();
  mendOrder(draft, () => budget.progress(0));
  // What bounds a part of a day says nothing of the whole.
  const proof = new Proof(problem, (!isStopped && options.bound?.(problem)) || (() => undefined));
  let lastReport = elapsed();
  let leading = copyPlan(draft.state);
  let lastShown = Number.NEGATIVE_INFINITY;
  let shownCost = Number.POSITIVE_INFINITY;
  const show = (iterations: number): void => {
    if (!options.onTimetable || leading.cost >= shownCost || elapsed() - lastShown < SHOWING_MS) return;
    shownCost = leading.cost;
    const timetable = emitTimetable(problem, leading, { seed: budget.seed, iterations, cancelled: false });
    if (verify(day, timetable).length === 0) options.onTimetable(timetable);
    lastShown = elapsed();
  };
  const result = improve(draft, {
    log: options.log,
    progress: (iterations) => {
      if (elapsed() - lastReport >= PROGRESS_MS) {
        lastReport = elapsed();
        const { bound } = proof;
        report("improving", iterations, { cost: leading.cost / 1000, ...(bound === undefined ? {} : { bound }) });
        show(iterations);
      }
      return proof.isMet(leading) ? 1 : budget.progress(iterations);
    },
    onBetter: (plan) => {
      leading = plan;
    },
  });
  const found = result.best.cost < draft.state.cost ? result.best : copyPlan(draft.state);
  const best = slackMinutes > 0 ? atTrueTimes(problem.model, found, draft.rng) : found;
  report("verifying", result.iterations);
  const { bound } = proof;
  const timetable = emitTimetable(problem, best, {
    ...(bound === undefined ? {} : { bound }),
    seed: budget.seed,
    iterations: result.iterations,
    cancelled: budget.wasStopped(),
    reasons: isStopped ? stoppedReasons(day) : explain(problem, best),
  });
  const breaches = verify(day, timetable);
  return { timetable, breaches, firstPlanMs, elapsedMs: elapsed(), iterations: result.iterations };
}
