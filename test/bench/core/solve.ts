import { parentPort } from "node:worker_threads";
import { SharedLog } from "../../../services/solving/shared-log.js";
import { createRng } from "../../../solver/rng.js";
import { construct, mendOrder } from "../../../solver/search/construct.js";
import { Draft } from "../../../solver/search/draft.js";
import { improve } from "../../../solver/search/improve.js";
import { type ClockKind, clockOf } from "../clock.js";
import { type ProfileLine, profiled } from "../profile.js";
import { coreModel, coreSolution } from "./adapter.js";
import type { CoreInstance, CoreSolution } from "./format.js";

export interface CoreTask {
  readonly instance: CoreInstance;
  readonly seed: number;
  readonly seconds: number;
  readonly isProfiled: boolean;
  /** Default: the wall's. */
  readonly clock?: ClockKind;
  /** Searches side by side in this process. Default 1. */
  readonly threads?: number;
  /** Shared by searches that search one plan together. */
  readonly log?: SharedArrayBuffer;
}

export interface CoreRun {
  readonly cost: number;
  readonly firstMs: number;
  readonly tries: number;
  readonly solution: CoreSolution;
  readonly profile: readonly ProfileLine[];
}

/** One search of a core instance; the model's building counts as time. */
export function solveCore({
  instance,
  seed,
  seconds,
  clock = "wall",
  threads = 1,
  log,
}: CoreTask): Omit<CoreRun, "profile"> {
  const now = clockOf(clock, threads);
  const exactly = clockOf(clock, threads, 0);
  const started = exactly();
  const model = coreModel(instance);
  const draft = new Draft(model, createRng(seed));
  construct(draft);
  const firstMs = exactly() - started;
  const progress = (): number => (now() - started) / (seconds * 1000);
  mendOrder(draft, progress);
  const { best, iterations } = improve(draft, {
    progress,
    log: log && new SharedLog(log),
  });
  return { cost: best.cost, firstMs, tries: iterations, solution: coreSolution(instance, model, best) };
}

function run(task: CoreTask): CoreRun {
  if (!task.isProfiled) return { ...solveCore(task), profile: [] };
  const { result, lines } = profiled(() => solveCore(task));
  return { ...result, profile: lines };
}

parentPort?.on("message", (task: CoreTask) => parentPort?.postMessage(run(task)));
parentPort?.postMessage("ready");
