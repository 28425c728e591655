import type { Task } from "../../schemas/index.js";
import type { BegunLoad, BegunTask } from "../problem/begun.js";

/** What has begun of one step of a load. */
export interface BegunStep {
  /** Where its items stand now, from when they began to. */
  readonly task: BegunTask;
  /** The site of its first task. */
  readonly site: string;
  /** Its second part, after a van. */
  readonly second: BegunTask | undefined;
}

/** What has begun of a load, by kind of step: worked out once, for each way in which it can go on asks. */
export class BegunSteps {
  readonly van: BegunTask | undefined;
  private readonly known = new Map<Task["does"], BegunStep | null>();

  constructor(readonly begun: BegunLoad) {
    for (const one of begun.tasks) if (one.task.does === "van") this.van ??= one;
  }

  /** Null when nothing of the step has begun. */
  of(does: Task["does"]): BegunStep | null {
    let step = this.known.get(does);
    if (step === undefined) {
      step = this.look(does);
      this.known.set(does, step);
    }
    return step;
  }

  private look(does: Task["does"]): BegunStep | null {
    const own = this.begun.tasks.filter(({ task }) => task.does === does);
    const task = joined(own.filter((one) => !isOfSecondPart(one)));
    return task ? { task, site: own[0]!.task.site, second: joined(own.filter(isOfSecondPart)) } : null;
  }
}

/** Of what is after a van, or on another deck; it may have been carried on, more than once. */
function isOfSecondPart({ task }: BegunTask): boolean {
  return /-2(-carried)*$/.test(task.id);
}

/** A stay whose items were carried is one stay, where they are now. */
function joined(parts: readonly BegunTask[]): BegunTask | undefined {
  const first = parts[0];
  const last = parts[parts.length - 1];
  if (!first || !last || first === last) return first;
  return { ...last, start: first.start, task: { ...last.task, id: first.task.id } };
}
