import type { Task } from "../../schemas/index.js";
import { instantMinute } from "../calendar.js";

const known = new WeakMap<readonly Task[], OwnTasks>();

/** Looked up once for the tasks of a load in the timetable in force: its ways and its home ask. */
export function ownTasksOf(tasks: readonly Task[]): OwnTasks {
  let own = known.get(tasks);
  if (!own) {
    own = new OwnTasks(tasks);
    known.set(tasks, own);
  }
  return own;
}

/** A task of the timetable in force, in minutes since the epoch. */
export interface OwnTask {
  readonly task: Task;
  readonly start: number;
  readonly end: number;
}

/** A load's tasks of each kind in the timetable in force: the first and the last of them. */
export class OwnTasks {
  readonly first = new Map<Task["does"], OwnTask>();
  readonly last = new Map<Task["does"], OwnTask>();
  /** Was something of it carried to other positions? */
  readonly isCarried: boolean;

  constructor(tasks: readonly Task[]) {
    for (const task of tasks) {
      const own = { task, start: instantMinute(task.start), end: instantMinute(task.end) };
      if (!this.first.has(task.does)) this.first.set(task.does, own);
      this.last.set(task.does, own);
    }
    this.isCarried = tasks.some(({ id }) => id.endsWith("-carried"));
  }
}
