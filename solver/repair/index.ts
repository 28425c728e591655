import type { Changes, DayDocuments, Timetable } from "../../schemas/index.js";
import { type Budget, budgetOf, type DrawOptions, type DrawResult } from "../draw.js";
import { emitTimetable } from "../emit/index.js";
import { explain } from "../explain.js";
import type { Problem } from "../problem/index.js";
import { MILLS } from "../problem/site-rows.js";
import { createRng } from "../rng.js";
import { anneal } from "../search/anneal.js";
import { Draft } from "../search/draft.js";
import { byForce } from "../search/moves/by-force.js";
import type { Moves } from "../search/moves/draw-move.js";
import { unmade } from "../search/moves/unmade.js";
import { copyPlan, type PlanCopy, rebuild } from "../search/plan.js";
import { verify } from "../verify/index.js";
import { changesOf } from "./changes.js";
import { savesSome, unkeptWishes, unmetWishes, wishesOfThrownAway, withoutWishes } from "./give-up.js";
import { keepAll } from "./keep-all.js";
import { DEFAULT_MOVE_COST } from "./move-cost.js";
import { place } from "./place.js";
import { polish } from "./polish.js";
import { poseRepair } from "./pose.js";
import { sameProgramsAhead } from "./same-ahead.js";
import { settle } from "./settle.js";
import { NOBODY, tooEarlyLoads, type Untied } from "./too-early.js";
import { wantingCost } from "./wanting.js";

/** While something is not made, every other go at it is by force. */
const FOR_UNMADE: Moves = [
  [unmade, 1],
  [byForce, 1],
];

/** Cooler than for a new day: the plan in force is a good one, and far from it nothing is wanted. */
const REPAIR_ANNEALING = { hot: 0.5, cold: 0.02, shortShare: 0.5, forUnmade: FOR_UNMADE } as const;

const PROGRESS_MS = 200;
/** Of a course, so much at most goes to making what the first plan leaves out, before anything else. */
const KEEP_SHARE = 0.6;
/** Of a course, so much is searched freely; after it loads are only brought home. */
const FREE_SHARE = 0.85;
/** Of the cost of a move, what one task that is home again may cost in money. */
const TASK_SHARE = 0.25;
/** How much of the budget goes to the repair itself; the rest to a second choice. */
const FIRST_SHARE = 0.75;
/** What a move costs in the search for a second choice, against the first: fewer moves, or less late. */
const FEWER_MOVES = 8;
const LESS_LATE = 0.1;
/** A second choice is shown when it has at most this share of the moves, or of the lateness, of the first. */
const QUITE_DIFFERENT = 0.6;
/** Fewer moves than so few are nobody's wish. */
const MANY_MOVES = 4;

/** Everything that the plan in force no longer allows is put where it costs least, one after another. */
export function placeWaiting(draft: Draft, waiting: readonly number[]): void {
  for (const load of waiting) place(draft, load);
  draft.tidy();
  draft.accept();
}

/** The timetable in force, if nothing of it has to change: every load is at home, and no order lacks more than it did. Null: something has to. */
function stillHolding(day: DayDocuments, problem: Problem, draft: Draft, waiting: readonly number[]): Timetable | null {
  if (waiting.some((load) => problem.model.loads[load]!.home !== undefined || isLost(problem, load))) return null;
  const inForce = day.inForce!;
  const { seed, iterations, notStarted: known = [] } = inForce;
  const table = emitTimetable(problem, copyPlan(draft.state), { seed, iterations });
  if (!sameTasks(inForce, table, (problem.index.origin + problem.begun!.at) * 60)) return null;
  // What an oven was on for before the instant is paid for; where the verifier knows another cost, it is what orders are worth.
  const isSameCost = JSON.stringify(inForce.cost) === JSON.stringify(table.cost);
  if (!isSameCost && verify(day, inForce).length > 0) return null;
  const { notStarted = [] } = table;
  return notStarted.every((id) => known.includes(id)) ? inForce : { ...inForce, notStarted };
}

/** Has a load begun that the problem has no place for, and that is not thrown away yet? */
function isLost(problem: Problem, load: number): boolean {
  const { id } = problem.loads[load]!;
  return problem.begun!.loads.has(id) && problem.kept.before.get(id)?.scrapped === undefined;
}

function sameTasks(before: Timetable, after: Timetable, at: number): boolean {
  const outcomes = (table: Timetable) => table.orders.map(({ why: _, ...order }) => order);
  return (
    sameItems(before.tasks, after.tasks) &&
    sameItems(before.loads, after.loads) &&
    sameItems(before.batches, after.batches) &&
    sameProgramsAhead(before, after, at) &&
    sameItems(before.vans, after.vans) &&
    sameItems(outcomes(before), outcomes(after))
  );
}

/** One by one: where something is other, the rest need not be written out. */
function sameItems(before: readonly object[], after: readonly object[]): boolean {
  if (before.length !== after.length) return false;
  for (let i = 0; i < before.length; i++)
    if (before[i] !== after[i] && JSON.stringify(before[i]) !== JSON.stringify(after[i])) return false;
  return true;
}

export interface RepairOptions extends DrawOptions {
  /** Without it a second choice is looked for in the last quarter of the budget. */
  readonly onlyOne?: boolean;
  /** Late and short orders are not told why: for repairs that are only compared. */
  readonly withoutReasons?: boolean;
  /** Is a better plan looked for where the timetable in force still holds? Without it that is given back at once. */
  readonly searchesOn?: boolean;
  /** Tasks whose hold or lock is not given up: the timetable breaks R14 where it cannot be met. */
  readonly insistsOn?: ReadonlySet<string>;
}

/** A repair that trades otherwise. */
export interface SecondChoice {
  readonly for: "fewer-moves" | "less-late";
  readonly timetable: Timetable;
  readonly changes: Changes;
}

export interface RepairResult extends DrawResult {
  readonly changes: Changes;
  readonly second?: SecondChoice;
  /** What the moves cost in the search, in the currency. */
  readonly movesCost: number;
}

type Repaired = Pick<RepairResult, "timetable" | "changes">;

/** What is left to wish for of a repair: less late where orders lack more than they did, else fewer moves, if it has many. */
function wishFor(inForce: Timetable, { timetable, changes }: Repaired): SecondChoice["for"] | null {
  if (wantingCost(timetable) > wantingCost(inForce)) return "less-late";
  return changes.counts.moved >= MANY_MOVES ? "fewer-moves" : null;
}

/** Is it worth showing a second choice beside a repair? */
export function isQuiteDifferent(inForce: Timetable, first: Repaired, second: SecondChoice): boolean {
  if (second.for === "less-late")
    return (
      wishFor(inForce, first) === "less-late" &&
      wantingCost(second.timetable) <= QUITE_DIFFERENT * wantingCost(first.timetable)
    );
  const { moved } = first.changes.counts;
  return moved >= MANY_MOVES && second.changes.counts.moved <= QUITE_DIFFERENT * moved;
}

/** One course of the search, as the budget lasts. */
class Course {
  iterations = 0;
  private readonly day: DayDocuments;
  private readonly options: RepairOptions;
  private readonly budget: Budget;
  private readonly started: number;
  private lastReport = 0;

  private readonly untied: Untied;

  constructor(day: DayDocuments, options: RepairOptions, budget: Budget, started: number, untied: Untied) {
    this.day = day;
    this.options = options;
    this.budget = budget;
    this.started = started;
    this.untied = untied;
  }

  elapsed(): number {
    return this.options.now() - this.started;
  }

  /** How much of the budget is used up after so many tries of a course that had made `before`; tells how far it is. */
  private used(before: number, iterations: number, cost: number): number {
    this.iterations = before + iterations;
    const elapsedMs = this.elapsed();
    if (elapsedMs - this.lastReport >= PROGRESS_MS) {
      this.lastReport = elapsedMs;
      this.options.onProgress?.({ phase: "improving", iterations: this.iterations, elapsedMs, cost: cost / 1000 });
    }
    return this.budget.progress(this.iterations);
  }

  /** Improves the draft while the budget goes from `from` to `to`, both as shares of it. */
  improve(first: Draft, from: number, to: number): PlanCopy {
    const { cost } = first.state;
    let before = this.iterations;
    const { draft, sureShort } = keepAll(
      first,
      (iterations) => (this.used(before, iterations, cost) - from) / (KEEP_SHARE * (to - from)),
    );
    before = this.iterations;
    const freeTo = from + (to - from) * FREE_SHARE;
    let bestCost = draft.state.cost;
    const result = anneal(draft, {
      progress: (iterations) => {
        const used = this.used(before, iterations, bestCost);
        return used >= 1 ? 1 : Math.max(0, (used - from) / (freeTo - from));
      },
      onBetter: (plan) => {
        bestCost = plan.cost;
      },
      ...REPAIR_ANNEALING,
      sureShort,
    });
    const best = result.best.cost < draft.state.cost ? result.best : copyPlan(draft.state);
    const { model, rng } = draft;
    before = this.iterations;
    const taskCost = TASK_SHARE * (this.day.settings.repair?.moveCost ?? DEFAULT_MOVE_COST) * MILLS;
    return polish(new Draft(model, rng, rebuild(model, best)), taskCost, (iterations) =>
      this.used(before, iterations, best.cost) >= to ? 1 : 0,
    );
  }

  emit(problem: Problem, plan: PlanCopy): Timetable {
    return emitTimetable(problem, plan, {
      seed: this.budget.seed,
      iterations: this.iterations,
      cancelled: this.budget.wasStopped(),
      reasons: this.options.withoutReasons ? new Map() : explain(problem, plan),
    });
  }

  /** Searches on with moves dearer or cheaper; null when nothing quite different comes of it. */
  second(first: Timetable, firstChanges: Changes, plan: PlanCopy): SecondChoice | null {
    const inForce = this.day.inForce!;
    const repaired = { timetable: first, changes: firstChanges };
    const kind = wishFor(inForce, repaired);
    if (!kind) return null;
    const moveFactor = kind === "less-late" ? LESS_LATE : FEWER_MOVES;
    const { problem } = poseRepair(this.day, this.options.lp, moveFactor, this.untied);
    const rng = createRng(this.budget.seed + 1);
    const draft = new Draft(problem.model, rng, rebuild(problem.model, plan));
    const timetable = this.emit(problem, this.improve(draft, FIRST_SHARE, 1));
    if (verify(this.day, timetable).length > 0) return null;
    const second = { for: kind, timetable, changes: changesOf(this.day, inForce, timetable) };
    return isQuiteDifferent(inForce, repaired, second) ? second : null;
  }
}

/**
 * Repairs the timetable in force after what has happened: `day.inForce` and `day.happenings.at` must be given, and the day must have passed its checks.
 * What has begun stays as it is; the rest is moved as little as pays. When the timetable in force still holds, it is given back as it
 * is (with `searchesOn` unless a better one is found). A hold or lock that the news has made impossible, or for which a load would be thrown away, is given up, told of in
 * the list of changes, and gone from the `happenings` of the result. Same day, seed and iterations give the same timetable.
 */
export function repair(day: DayDocuments, options: RepairOptions): RepairResult {
  const result = repairOnce(day, options);
  let unmet = unmetWishes(result.breaches, options.insistsOn);
  const isRefused = unmet.size > 0;
  if (!isRefused) unmet = wishesOfThrownAway(day, result.timetable, options.insistsOn);
  const left = unmet.size > 0 ? withoutWishes(day, unmet) : null;
  if (!left) return withoutUnkept(day, result);
  const again = repair(left, options);
  if (!isRefused && !savesSome(again.timetable, result.timetable)) return withoutUnkept(day, result);
  const givenUp = [...unmet, ...(again.changes.givenUp ?? [])];
  return { ...again, changes: { ...again.changes, givenUp }, happenings: again.happenings ?? left.happenings };
}

/** Names the holds and locks that a sound repair need not keep, and does not. */
function withoutUnkept(day: DayDocuments, result: RepairResult): RepairResult {
  if (result.breaches.length > 0) return result;
  const unkept = unkeptWishes(day, result.timetable);
  const left = withoutWishes(day, unkept);
  return left
    ? { ...result, changes: { ...result.changes, givenUp: [...unkept] }, happenings: left.happenings }
    : result;
}

function repairOnce(day: DayDocuments, options: RepairOptions, untied = NOBODY): RepairResult {
  const { inForce } = day;
  if (!inForce || day.happenings.at === undefined)
    throw new RangeError("a repair needs the timetable in force and the instant at which things stand as told");
  const budget = budgetOf(day, options);
  const course = new Course(day, options, budget, options.now(), untied);
  options.onProgress?.({ phase: "placing", iterations: 0, elapsedMs: 0 });
  const { problem } = poseRepair(day, options.lp, 1, untied);
  const draft = new Draft(problem.model, createRng(budget.seed));
  const waiting = settle(draft);
  const holding = stillHolding(day, problem, draft, waiting);
  const unchanged = (timetable: Timetable): RepairResult => ({
    timetable,
    breaches: verify(day, timetable),
    changes: changesOf(day, inForce, timetable),
    movesCost: 0,
    firstPlanMs: course.elapsed(),
    elapsedMs: course.elapsed(),
    iterations: course.iterations,
  });
  if (holding && !options.searchesOn) return unchanged(holding);
  placeWaiting(draft, waiting);
  const tooEarly = untied === NOBODY ? tooEarlyLoads(problem, draft, waiting) : NOBODY;
  if (tooEarly !== NOBODY) return repairOnce(day, options, tooEarly);
  const firstPlanMs = course.elapsed();
  const { cost } = draft.state;
  const plan = course.improve(draft, 0, options.onlyOne ? 1 : FIRST_SHARE);
  // Nothing was found that is worth its moves.
  if (holding && plan.cost >= cost) return unchanged(holding);
  options.onProgress?.({ phase: "verifying", iterations: course.iterations, elapsedMs: course.elapsed() });
  const timetable = course.emit(problem, plan);
  const breaches = verify(day, timetable);
  const changes = changesOf(day, inForce, timetable);
  const second = options.onlyOne || breaches.length > 0 ? null : course.second(timetable, changes, plan);
  return {
    timetable,
    breaches,
    changes,
    ...(second ? { second } : {}),
    movesCost: rebuild(problem.model, plan).moveCost / MILLS,
    firstPlanMs,
    elapsedMs: course.elapsed(),
    iterations: timetable.iterations,
  };
}
