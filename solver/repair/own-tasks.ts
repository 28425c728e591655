import type { Task } from "../../schemas/index.js";

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
