import type { BoilStep, Task } from "../../../schemas/index.js";
import { type Filling, fillingsOf } from "../../../solver/baths.js";
import type { Plan, PlannedTask } from "./plan.js";
import type { Station } from "./stations.js";

/** The boil of a load's route that a task is; undefined: it is none. */
export function boilStepOf(task: PlannedTask | undefined): BoilStep | undefined {
  if (task?.task.does !== "boil") return undefined;
  const route = task.product?.routes.find((candidate) => candidate.id === task.load?.route);
  return route?.steps.find((step): step is BoilStep => step.does === "boil");
}

/** Is the task a boil in a caustic bath? */
export function usesLye(plan: Plan, taskId: string | undefined): boolean {
  return boilStepOf(plan.byId.get(taskId ?? ""))?.lyePercent !== undefined;
}

/** Whenever the kettle of a station is filled. */
export function fillingsAt(plan: Plan, station: Station): Filling[] {
  const kettle = plan.sites.get(station.site)?.kettles.find(({ id }) => `${station.site}/${id}` === station.id);
  if (!kettle) return [];
  const program = plan.timetable.kettleProgram.find((entry) => entry.kettle === station.id);
  const tasks = plan.tasks.filter(({ task }) => task.unit === station.id).map(({ task }) => task);
  return fillingsOf(kettle, program, tasks, (task: Task) => boilStepOf(plan.byId.get(task.id)));
}
