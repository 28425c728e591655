import { availableParallelism } from "node:os";
import { Worker } from "node:worker_threads";
import type { DayDocuments } from "../schemas/index.js";
import type { DrawResult, Progress } from "../solver/index.js";
import type { DrawRequest } from "./draw-worker.js";

export interface DrawingOptions {
  readonly seconds?: number;
  readonly iterations?: number;
  readonly seed?: number;
  readonly onProgress?: (progress: Progress) => void;
  /** Aborting stops the search and keeps the best plan so far. */
  readonly signal?: AbortSignal;
}

/** After a stop is asked for, a worker that does not answer within this is ended. */
const GRACE_MS = 20_000;

/** Searches side by side when the budget is in seconds: run-to-run differences are larger than what more time brings. */
const SIDE_BY_SIDE = 2;

/**
 * Draws up a day in worker threads, so that the caller stays free and can stop it. With a budget of tries one search runs, and
 * its answer is always the same; with one in seconds, as many as there are cores (two at most), each with the next seed,
 * and the cheapest timetable is taken.
 */
export async function drawInWorker(day: DayDocuments, options: DrawingOptions): Promise<DrawResult> {
  const isByTries =
    options.iterations !== undefined ||
    (options.seconds === undefined && day.settings.search?.iterations !== undefined);
  const count = isByTries ? 1 : Math.max(1, Math.min(SIDE_BY_SIDE, availableParallelism()));
  const seed = options.seed ?? day.settings.search?.seed ?? 1;
  const runs = Array.from({ length: count }, (_, i) => drawOnce(day, { ...options, seed: (seed + i) % 2 ** 32 }));
  const results = await Promise.all(runs);
  const isWorse = (a: DrawResult, b: DrawResult): boolean =>
    a.breaches.length > b.breaches.length ||
    (a.breaches.length === b.breaches.length && a.timetable.cost.total > b.timetable.cost.total);
  return results.reduce((best, result) => (isWorse(best, result) ? result : best));
}

function drawOnce(day: DayDocuments, options: DrawingOptions): Promise<DrawResult> {
  const { onProgress, signal, ...budget } = options;
  const stop = new SharedArrayBuffer(4);
  const request: DrawRequest = { day, ...budget, stop };
  return new Promise((resolve, reject) => {
    const worker = new Worker(new URL("./draw-worker.js", import.meta.url), { workerData: request });
    let hardStop: NodeJS.Timeout | undefined;
    const stopAndKeep = (): void => {
      Atomics.store(new Int32Array(stop), 0, 1);
      hardStop = setTimeout(() => {
        void worker.terminate();
        reject(new Error("the solver did not stop when asked"));
      }, GRACE_MS);
    };
    const done = (): void => {
      clearTimeout(hardStop);
      signal?.removeEventListener("abort", stopAndKeep);
    };
    worker.on("message", (message: { progress?: Progress; result?: DrawResult }) => {
      if (message.progress) onProgress?.(message.progress);
      if (message.result) {
        done();
        resolve(message.result);
      }
    });
    worker.on("error", (error) => {
      done();
      reject(error);
    });
    worker.on("exit", (code) => {
      done();
      reject(new Error(`the solver ended without an answer (code ${code})`));
    });
    if (signal?.aborted) stopAndKeep();
    else signal?.addEventListener("abort", stopAndKeep, { once: true });
  });
}
