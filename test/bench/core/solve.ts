import { parentPort } from "node:worker_threads";
import { createRng } from "../../../solver/rng.js";
import { ANNEALING, anneal } from "../../../solver/search/anneal.js";
import { construct } from "../../../solver/search/construct.js";
import { Draft } from "../../../solver/search/draft.js";
import { coreModel, coreSolution } from "./adapter.js";
import type { CoreInstance, CoreSolution } from "./format.js";

export interface CoreTask {
  readonly instance: CoreInstance;
  readonly seed: number;
  readonly seconds: number;
}

export interface CoreRun {
  readonly cost: number;
  readonly firstMs: number;
  readonly tries: number;
  readonly solution: CoreSolution;
}

/** One search of a core instance; the model's building counts as time. */
export function solveCore({ instance, seed, seconds }: CoreTask): CoreRun {
  const started = performance.now();
  const model = coreModel(instance);
  const draft = new Draft(model, createRng(seed));
  construct(draft);
  const firstMs = performance.now() - started;
  const { best, iterations } = anneal(draft, {
    progress: () => (performance.now() - started) / (seconds * 1000),
    ...ANNEALING,
  });
  return { cost: best.cost, firstMs, tries: iterations, solution: coreSolution(instance, model, best) };
}

parentPort?.on("message", (task: CoreTask) => parentPort!.postMessage(solveCore(task)));
