import { parentPort, workerData } from "node:worker_threads";
import type { DayDocuments } from "../schemas/index.js";
import { createLp, createSmallEngine, draw, loadHighs } from "../solver/index.js";

/** What a drawing is asked for. */
export interface DrawRequest {
  readonly day: DayDocuments;
  readonly seconds?: number;
  readonly iterations?: number;
  readonly seed?: number;
  /** One flag: set to 1 to stop and keep. */
  readonly stop: SharedArrayBuffer;
}

const { day, stop, ...budget } = workerData as DrawRequest;
const flag = new Int32Array(stop);
const now = (): number => performance.now();
const lp = createLp(createSmallEngine(now), await loadHighs());
const result = draw(day, {
  ...budget,
  now,
  lp,
  onProgress: (progress) => parentPort?.postMessage({ progress }),
  shouldStop: () => Atomics.load(flag, 0) === 1,
});
parentPort?.postMessage({ result });
