import type { BoilStep, Route, Task } from "../../../schemas/index.js";
import { type Filling, fillingsOf, isLye, isWetWithLye } from "../../../solver/baths.js";
import type { Plan, PlannedTask } from "./plan.js";
import type { Station } from "./stations.js";

function routeOf(task: PlannedTask): Route | undefined {
  return task.product?.routes.find((candidate) => candidate.id === task.load?.route);
}

/** The boil of a load's route that a task is; undefined: it is none. */
export function boilStepOf(task: PlannedTask | undefined): BoilStep | undefined {
  if (task?.task.does !== "boil") return undefined;
  return routeOf(task)?.steps.find((step): step is BoilStep => step.does === "boil");
}

/** Does whoever does it meet lye: boils in it, makes or empties a bath of it, or has wet pieces in hand? */
export function meetsLye(task: PlannedTask, fillings: readonly Filling[]): boolean {
  if (isWetWithLye(routeOf(task), task.task.does)) return true;
  return fillings.some(
    (filling) =>
      (filling.task === task.task || (filling.kind === "unplanned" && filling.start === task.task.start)) &&
      (isLye(filling.before) || isLye(filling.bath)),
  );
}

/** Whenever the kettle of a station is filled. */
export function fillingsAt(plan: Plan, station: Station): Filling[] {
  const kettle = plan.sites.get(station.site)?.kettles.find(({ id }) => `${station.site}/${id}` === station.id);
  if (!kettle) return [];
  const program = plan.timetable.kettleProgram.find((entry) => entry.kettle === station.id);
  const tasks = plan.tasks.filter(({ task }) => task.unit === station.id).map(({ task }) => task);
  return fillingsOf(kettle, program, tasks, (task: Task) => boilStepOf(plan.byId.get(task.id)));
}
