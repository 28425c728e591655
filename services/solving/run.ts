import { availableParallelism } from "node:os";
import type { DayDocuments } from "../../schemas/index.js";
import { operationNamed } from "../operations/index.js";
import type { Operation, RunProgress } from "../operations/operation.js";
import { Beside } from "./beside.js";
import { type RunOptions, SolverPool } from "./pool.js";
import { type RemoteServer, runRemote } from "./remote.js";
import { SharedLog } from "./shared-log.js";

/** Searches side by side by default: small days differ more from run to run than more time brings, large ones are searched together. More than two were not measured. */
const MOST_LANES = 2;

export function defaultLanes(): number {
  return Math.max(1, Math.min(MOST_LANES, availableParallelism()));
}

/** The progress of several lanes as one: the latest report, with the best cost of any lane. */
export function mergeProgress(report: (progress: RunProgress) => void): (progress: RunProgress) => void {
  let cost = Number.POSITIVE_INFINITY;
  return (progress) => {
    if (progress.cost === undefined) return report(progress);
    cost = Math.min(cost, progress.cost);
    report({ ...progress, cost });
  };
}

/** Runs an operation in the threads of a pool, side by side where it can be split, with what it does beside. */
export async function runIn(
  pool: SolverPool,
  name: string,
  day: DayDocuments,
  request: unknown,
  options: RunOptions = {},
): Promise<unknown> {
  const operation = operationNamed(name)!;
  if (!operation.beside?.isWanted(day, request)) return runLanes(pool, operation, day, request, options);
  const beside = new Beside(name, day, request);
  return runLanes(pool, operation, day, request, { ...options, beside }).finally(() => beside.end());
}

async function runLanes(
  pool: SolverPool,
  operation: Operation,
  day: DayDocuments,
  request: unknown,
  options: RunOptions,
): Promise<unknown> {
  const { name } = operation;
  const parts = operation.split?.(day, request, pool.size) ?? [request];
  if (parts.length === 1) return pool.run(name, day, parts[0], options);
  const { onProgress, ...rest } = options;
  const report = onProgress && mergeProgress(onProgress);
  const log = operation.isTogether ? { log: SharedLog.memory() } : {};
  const responses = await Promise.all(
    parts.map((part) => pool.run(name, day, part, { ...rest, ...log, ...(report ? { onProgress: report } : {}) })),
  );
  return operation.gather!(day, request, responses);
}

let server: RemoteServer | undefined;

/** From now on `runOnce` asks this server instead of running here: set once, by the program's start. */
export function runOnServer(remote: RemoteServer): void {
  server = remote;
}

let warmed: SolverPool | undefined;

/** Starts the threads that the next `runOnce` takes, while its day is still to be read. Threads without work keep no program alive. */
export function warmUp(): void {
  if (server !== undefined || warmed !== undefined) return;
  warmed = new SolverPool(defaultLanes());
  warmed.warm();
}

/** Runs one operation in threads of its own and ends them, or on the server that was chosen: for programs that ask once. */
export async function runOnce<Response>(
  name: string,
  day: DayDocuments,
  request: unknown,
  options: RunOptions = {},
): Promise<Response> {
  if (server !== undefined) return (await runRemote(server, name, day, request, options)) as Response;
  const pool = warmed ?? new SolverPool(defaultLanes());
  warmed = undefined;
  try {
    return (await runIn(pool, name, day, request, options)) as Response;
  } finally {
    await pool.close();
  }
}
