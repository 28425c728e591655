import { MINUTE } from "./clock.js";
import type { PlannedTask } from "./plan.js";

/** A wait of a route: how long it is and how long it may be, minutes. */
export interface Limit {
  readonly minutes: number;
  readonly least: number;
  readonly greatest: number;
}

/** For a task that stands (rest, retard, temper, proof, cool): its length against the route's limits. Both halves of a split retard count together (D5). */
export function limitOf(task: PlannedTask, way: readonly PlannedTask[]): Limit | undefined {
  const route = task.product?.routes.find((candidate) => candidate.id === task.load?.route);
  const same = way.filter((other) => other.task.does === task.task.does && other.load);
  for (const step of route?.steps ?? []) {
    if (step.does !== task.task.does || !("leastMinutes" in step)) continue;
    const fromMs = Math.min(...same.map((other) => other.fromMs));
    const toMs = Math.max(...same.map((other) => other.toMs));
    const all = task.task.does === "retard" ? toMs - fromMs : task.toMs - task.fromMs;
    return { minutes: Math.round(all / MINUTE), least: step.leastMinutes, greatest: step.greatestMinutes };
  }
  return undefined;
}
