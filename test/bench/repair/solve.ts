import { parentPort } from "node:worker_threads";
import type { DayDocuments } from "../../../schemas/index.js";
import { createLp, createSmallEngine, loadHighs, type RepairResult, repair } from "../../../solver/index.js";
import { type ClockKind, clockOf } from "../clock.js";

export interface RepairTask {
  readonly day: DayDocuments;
  readonly seconds: number;
  readonly seed: number;
  readonly clock: ClockKind;
  /** Repairs side by side in this process. */
  readonly threads: number;
}

const lp = createLp(
  createSmallEngine(() => performance.now()),
  await loadHighs(),
);

function run({ day, seconds, seed, clock, threads }: RepairTask): RepairResult {
  const now = clockOf(clock, threads);
  return repair(day, { seconds, seed, now, lp, onlyOne: true });
}

parentPort?.on("message", (task: RepairTask) => parentPort?.postMessage(run(task)));
parentPort?.postMessage("ready");
