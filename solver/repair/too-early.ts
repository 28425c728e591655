import type { Problem } from "../problem/index.js";
import type { Draft } from "../search/draft.js";
import { finishIn } from "./keep.js";

/** Loads that no longer serve lines for which they are ready too early. */
export type Untied = ReadonlySet<string>;
export const NOBODY: Untied = new Set();

/**
 * Loads that have begun, find no way on, and are ready too early by the timetable in force for a line as it is now: its due time was moved, or it is to be fresher. They
 * are not thrown away for that: they go on without it.
 */
export function tooEarlyLoads(problem: Problem, { state }: Draft, waiting: readonly number[]): Untied {
  let found: Set<string> | undefined;
  for (const load of waiting) {
    if (state.mode[load]! >= 0) continue;
    const { id, portions } = problem.loads[load]!;
    if (!problem.begun!.loads.has(id)) continue;
    const finished = finishIn(problem.index, problem.kept.tasks.get(id));
    if (!portions.some(({ want }) => finished < want.due - want.freshWithinMinutes)) continue;
    found ??= new Set();
    found.add(id);
  }
  return found ?? NOBODY;
}
