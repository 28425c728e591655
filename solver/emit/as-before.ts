import type { Batch, CrewUse, Dip, Task } from "../../schemas/index.js";
import type { Kept } from "../problem/kept.js";

/**
 * What a load or batch has in the timetable in force, for those who write it down anew: what stayed as it was is the task of then, and names that were put together then are
 * not put together again.
 */
export class Before {
  /** By what follows the owner's id in theirs. */
  private readonly tasks = new Map<string, Task>();
  private pans: readonly string[] = NO_NAMES;
  private tubs: readonly string[] = NO_NAMES;

  constructor(
    private readonly owner: string,
    tasks: readonly Task[],
  ) {
    for (const task of tasks)
      if (task.id.startsWith(`${owner}-`)) this.tasks.set(task.id.slice(owner.length + 1), task);
  }

  /** Id of a task. */
  id(name: string): string {
    return this.tasks.get(name)?.id ?? `${this.owner}-${name}`;
  }

  /** The task of then where it is the same. */
  orSame(name: string, task: Task): Task {
    const was = this.tasks.get(name);
    return was && isSameTask(was, task) ? was : task;
  }

  /** Names of so many pans (D2). */
  panNames(count: number): readonly string[] {
    if (this.pans.length !== count) this.pans = numbered(`${this.owner}-pan-`, count);
    return this.pans;
  }

  tubNames(count: number): readonly string[] {
    if (this.tubs.length !== count) this.tubs = numbered(`${this.owner}-tub-`, count);
    return this.tubs;
  }
}

const NO_NAMES: readonly string[] = [];
const NO_TASKS: readonly Task[] = [];

function numbered(name: string, count: number): string[] {
  const names: string[] = [];
  for (let i = 1; i <= count; i++) names.push(`${name}${i}`);
  return names;
}

const known = new WeakMap<Kept["tasks"], Map<string, Before>>();

/** Kept with the timetable in force. */
export function beforeOf({ tasks }: Kept, owner: string): Before {
  let all = known.get(tasks);
  if (!all) {
    all = new Map();
    known.set(tasks, all);
  }
  let before = all.get(owner);
  if (!before) {
    before = new Before(owner, tasks.get(owner) ?? NO_TASKS);
    if (tasks.has(owner)) all.set(owner, before);
  }
  return before;
}

/** Lists of places count as the same only where they are one list. */
function isSameTask(was: Task, now: Task): boolean {
  return (
    was.start === now.start &&
    was.end === now.end &&
    was.places === now.places &&
    was.unit === now.unit &&
    was.site === now.site &&
    was.does === now.does &&
    was.load === now.load &&
    was.batch === now.batch &&
    was.van === now.van &&
    was.tempC === now.tempC &&
    was.locked === now.locked &&
    isSameCrew(was.crew, now.crew) &&
    areSameDips(was.dips, now.dips)
  );
}

function isSameCrew(was: CrewUse | undefined, now: CrewUse | undefined): boolean {
  if (!was || !now) return was === now;
  return was.group === now.group && was.heads === now.heads && was.minutes === now.minutes;
}

function areSameDips(was: readonly Dip[] | undefined, now: readonly Dip[] | undefined): boolean {
  if (!was || !now || was.length !== now.length) return was === now;
  for (let i = 0; i < was.length; i++)
    if (was[i]!.start !== now[i]!.start || was[i]!.pieces !== now[i]!.pieces) return false;
  return true;
}

/** The batch of then where it is the same. */
export function orSameBatch(was: Batch | undefined, now: Batch): Batch {
  const isSame =
    was && was.dough === now.dough && was.site === now.site && was.massG === now.massG && was.spareG === now.spareG;
  return isSame ? was : now;
}
