import { parentPort } from "node:worker_threads";
import type { DayDocuments } from "../../../schemas/index.js";
import { createLp, createSmallEngine, draw, loadHighs } from "../../../solver/index.js";
import { type ClockKind, clockOf } from "../clock.js";
import { type ProfileLine, profiled } from "../profile.js";

export interface DayTask {
  readonly day: DayDocuments;
  readonly seed: number;
  readonly seconds: number;
  readonly isProfiled: boolean;
  readonly clock: ClockKind;
}

export interface DayRun {
  readonly profile: readonly ProfileLine[];
  readonly cost: number;
  readonly shortPieces: number;
  readonly latePieces: number;
  readonly loads: number;
  readonly status: string;
  readonly firstPlanMs: number;
  readonly elapsedMs: number;
  readonly tries: number;
  readonly breaches: number;
  /** Best cost by then, in ms from the beginning. */
  readonly trace: readonly (readonly [ms: number, cost: number])[];
  /** When each phase began, ms. */
  readonly phases: readonly (readonly [phase: string, ms: number])[];
}

const lp = createLp(
  createSmallEngine(() => performance.now()),
  await loadHighs(),
);

/** Draws up a day as the product does, in this one thread. */
function solveDay({ day, seed, seconds, clock }: DayTask): Omit<DayRun, "profile"> {
  const trace: [number, number][] = [];
  const phases: [string, number][] = [];
  const result = draw(day, {
    seconds,
    seed,
    lp,
    now: clockOf(clock, 1),
    onProgress: ({ phase, elapsedMs, cost }) => {
      if (phases.at(-1)?.[0] !== phase) phases.push([phase, elapsedMs]);
      if (cost !== undefined) trace.push([elapsedMs, cost]);
    },
  });
  const { orders, cost, loads, status } = result.timetable;
  return {
    cost: cost.total,
    shortPieces: orders.reduce((sum, order) => sum + order.shortPieces, 0),
    latePieces: orders.reduce((sum, order) => sum + (order.lateMinutes > 0 ? order.pieces : 0), 0),
    loads: loads.length,
    status,
    firstPlanMs: result.firstPlanMs,
    elapsedMs: result.elapsedMs,
    tries: result.iterations,
    breaches: result.breaches.length,
    trace,
    phases,
  };
}

function run(task: DayTask): DayRun {
  if (!task.isProfiled) return { ...solveDay(task), profile: [] };
  const { result, lines } = profiled(() => solveDay(task));
  return { ...result, profile: lines };
}

parentPort?.on("message", (task: DayTask) => parentPort!.postMessage(run(task)));
parentPort?.postMessage("ready");
