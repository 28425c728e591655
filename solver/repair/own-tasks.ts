import type { Task } from "../../schemas/index.js";

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

/** A load's tasks of each kind in the timetable in force: the first and the last of them. */
export class OwnTasks {
  readonly first = new Map<Task["does"], Task>();
  readonly last = new Map<Task["does"], Task>();

  constructor(tasks: readonly Task[]) {
    for (const task of tasks) {
      if (!this.first.has(task.does)) this.first.set(task.does, task);
      this.last.set(task.does, task);
    }
  }
}
