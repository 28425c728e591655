import type { Task } from "../../schemas/index.js";
import type { BegunLoad, BegunTask } from "../problem/begun.js";
import type { MadeMode, StepTrace } from "../problem/modes.js";
import { holdOf, modeWith, operationWith } from "../search/copies.js";
import type { Operation } from "../search/model.js";
import type { Report } from "./reports.js";

/** A load as far as it is told to wait. */
export interface Waiting {
  /** By kind of step: it cannot start before this minute, which is still ahead. */
  readonly notBefore: ReadonlyMap<Task["does"], number>;
  readonly begun: BegunLoad | undefined;
  /** Undefined: the mix has not begun. */
  readonly mixEnd: number | undefined;
}

/** When steps of a load can start, as told; undefined when nothing of it waits beyond `at`. `isLockedSooner`: it is, and stays where it is. */
export function waitingSteps(
  tasks: readonly Task[],
  reports: ReadonlyMap<string, Report>,
  at: number,
  isLockedSooner: (task: Task, notBefore: number) => boolean,
): ReadonlyMap<Task["does"], number> | undefined {
  let found: Map<Task["does"], number> | undefined;
  if (reports.size === 0) return found;
  for (const task of tasks) {
    const notBefore = reports.get(task.id)?.notBefore;
    if (notBefore === undefined || notBefore <= at || !isDecided(task)) continue;
    if (isLockedSooner(task, notBefore)) continue;
    found ??= new Map();
    found.set(task.does, notBefore);
  }
  return found;
}

/** Is when it begins still to be decided? A stay goes on elsewhere when its place fails or its van is there; the rest of a bake waits for a deck. */
function isDecided({ id, load, does }: Task): boolean {
  return id === `${load}-${does}` || id === `${load}-bake-2`;
}

/**
 * The way with what waits no sooner than told; one that no minute allows when its van leaves before. What has begun and leads to it may last until
 * then, however long that is: that is told, not decided.
 */
export function waitingMode({ mode, meaning }: MadeMode, waiting: Waiting): MadeMode {
  const operations = mode.operations.slice();
  const holds = mode.holds.slice();
  const van = waiting.notBefore.get("van");
  if (van !== undefined && meaning.trip && meaning.trip.leave < van) {
    const last = operations.length - 1;
    operations[last] = operationWith(operations[last]!.alternatives, operations[last]!.crew, 1, 0);
  }
  for (const trace of meaning.steps) {
    const notBefore = waiting.notBefore.get(trace.step.does);
    const k = trace.operation >= 0 ? trace.operation : trace.hold - 1;
    const operation = operations[k];
    // A standing step begins when the work before it ends, whatever is told.
    if (notBefore === undefined || !operation || (trace.operation < 0 && !isPoint(operation))) continue;
    const { alternatives, crew, from, to } = operation;
    operations[k] = operationWith(alternatives, crew, Math.max(from, notBefore), to);
    const since = standsSince(meaning.steps, k, waiting);
    const hold = holds[k]!;
    if (since !== undefined && notBefore - since > hold.greatest)
      holds[k] = holdOf(hold, hold.least, notBefore - since);
  }
  return { mode: modeWith(mode, holds, operations, mode.warmMinutes), meaning };
}

function isPoint({ alternatives, crew }: Operation): boolean {
  return crew === null && alternatives.every(({ row, minutes }) => row < 0 && minutes === 0);
}

/** Since when what leads to an operation lasts, if that has begun. */
function standsSince(steps: readonly StepTrace[], k: number, { begun, mixEnd }: Waiting): number | undefined {
  const standing = steps.find(({ hold }) => hold === k);
  const firstOf = (does: Task["does"]): BegunTask | undefined => begun?.tasks.find(({ task }) => task.does === does);
  if (standing) return firstOf(standing.step.does)?.start;
  if (k === 0) return mixEnd;
  const work = steps.find(({ operation }) => operation === k - 1);
  return (work && firstOf(work.step.does)?.end) ?? undefined;
}
