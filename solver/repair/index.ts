import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { budgetOf, type DrawOptions, type DrawResult } from "../draw.js";
import { emitTimetable } from "../emit/index.js";
import { explain } from "../explain.js";
import { createRng } from "../rng.js";
import { anneal } from "../search/anneal.js";
import { Draft } from "../search/draft.js";
import { mixAtHome, settleHome } from "../search/home.js";
import { copyPlan } from "../search/state.js";
import { verify } from "../verify/index.js";
import { poseRepair } from "./pose.js";

/** Cooler than for a new day: the plan in force is a good one, and far from it nothing is wanted. */
const REPAIR_ANNEALING = { hot: 1, cold: 0.02, shortShare: 0.5 } as const;

const PROGRESS_MS = 200;

/** Everything that the plan in force no longer allows is put where it costs least, one after another. */
export function firstRepair(draft: Draft): { waiting: number } {
  const { model, state, mixes, rng } = draft;
  const waiting = settleHome(draft);
  for (const load of waiting) {
    const { batch, dropCost } = model.loads[load]!;
    if (state.mixOption[batch]! < 0 && !mixAtHome(draft, batch)) {
      if (draft.insertWithMix(load, dropCost)) continue;
      if (!mixes.pick(batch, "anywhere", rng)) continue;
      draft.mix(batch);
    }
    draft.insert(load, dropCost);
  }
  draft.tidy();
  draft.accept();
  return { waiting: waiting.length };
}

function sameTasks(before: Timetable, after: Timetable): boolean {
  const text = (table: Timetable): string =>
    JSON.stringify([table.tasks, table.loads, table.batches, table.ovenProgram, table.kettleProgram, table.vans]);
  const outcomes = (table: Timetable): string => JSON.stringify(table.orders.map(({ why: _, ...order }) => order));
  return text(before) === text(after) && outcomes(before) === outcomes(after);
}

export interface RepairOptions extends DrawOptions {
  /** Multiplies what moves cost. Default 1. */
  readonly moveFactor?: number;
}

/**
 * Repairs the timetable in force after what has happened: `day.inForce` and `day.happenings.at` must be given, and the day must have passed its checks.
 * What has begun stays as it is; the rest is moved as little as pays. When the timetable in force still holds, it is given back as it
 * is. Same day, seed and iterations give the same timetable.
 */
export function repair(day: DayDocuments, options: RepairOptions): DrawResult {
  const { inForce } = day;
  if (!inForce) throw new RangeError("there is no timetable in force to repair");
  const started = options.now();
  const elapsed = (): number => options.now() - started;
  const report = (phase: "placing" | "improving" | "verifying", iterations: number, cost?: number): void =>
    options.onProgress?.({ phase, iterations, elapsedMs: elapsed(), ...(cost === undefined ? {} : { cost }) });
  report("placing", 0);
  const { problem } = poseRepair(day, options.lp, options.moveFactor);
  const budget = budgetOf(day, options);
  const draft = new Draft(problem.model, createRng(budget.seed));
  const { waiting } = firstRepair(draft);
  const firstPlanMs = elapsed();
  if (waiting === 0 && problem.unmakeable.length === 0) {
    const asItIs = emitTimetable(problem, copyPlan(draft.state), {
      seed: inForce.seed,
      iterations: inForce.iterations,
    });
    if (sameTasks(inForce, asItIs))
      return { timetable: inForce, breaches: verify(day, inForce), firstPlanMs, elapsedMs: elapsed(), iterations: 0 };
  }
  let lastReport = 0;
  let bestCost = draft.state.cost;
  const result = anneal(draft, {
    progress: (iterations) => {
      if (elapsed() - lastReport >= PROGRESS_MS) {
        lastReport = elapsed();
        report("improving", iterations, bestCost / 1000);
      }
      return budget.progress(iterations);
    },
    onBetter: (plan) => {
      bestCost = plan.cost;
    },
    ...REPAIR_ANNEALING,
  });
  const best = result.best.cost < draft.state.cost ? result.best : copyPlan(draft.state);
  report("verifying", result.iterations);
  const timetable = emitTimetable(problem, best, {
    seed: budget.seed,
    iterations: result.iterations,
    cancelled: budget.wasStopped(),
    reasons: explain(problem, best),
  });
  return {
    timetable,
    breaches: verify(day, timetable),
    firstPlanMs,
    elapsedMs: elapsed(),
    iterations: result.iterations,
  };
}
