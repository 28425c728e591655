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

/** Draws up a day in a worker thread, so that the caller stays free and can stop it. */
export function drawInWorker(day: DayDocuments, options: DrawingOptions): Promise<DrawResult> {
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
