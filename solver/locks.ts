import type { DayDocuments, Task } from "../schemas/index.js";
import { indexDay } from "./problem/day-index.js";
import { inForceOf } from "./problem/in-force.js";
import { outdatedBatches } from "./repair/as-catalogued.js";
import type { Breach } from "./verify/index.js";

/** Ids of the tasks of the timetable in force that a day locks. */
function lockedIds({ happenings }: DayDocuments): Set<string> {
  return new Set(happenings.happenings.flatMap((one) => (one.kind === "lock" ? [one.task] : [])));
}

/** By id of a locked task: the batch that it belongs to. */
function batchesOfLocks(day: DayDocuments): Map<string, string> {
  const batches = new Map<string, string>();
  const locked = lockedIds(day);
  if (locked.size === 0 || !day.inForce) return batches;
  const { loads } = inForceOf(day.inForce);
  for (const task of day.inForce.tasks) {
    const batch = batchOf(task, loads);
    if (batch !== undefined && locked.has(task.id)) batches.set(task.id, batch);
  }
  return batches;
}

function batchOf({ batch, load }: Task, loads: ReadonlyMap<string, { readonly batch: string }>): string | undefined {
  return batch ?? loads.get(load ?? "")?.batch;
}

/** Locked tasks of which nothing can be kept, as the documents have their product or its load otherwise now: a lock keeps the make-up of a whole batch. */
export function outdatedLocks(day: DayDocuments): Set<string> {
  const locks = batchesOfLocks(day);
  if (locks.size === 0) return new Set();
  const outdated = outdatedBatches(indexDay(day), new Set(), day.inForce!);
  return new Set([...locks].filter(([, batch]) => outdated.has(batch)).map(([task]) => task));
}

/** Locked tasks of the batches that a timetable breaks rules with: what the documents say now leaves no room for them as they were. */
export function locksInTheWay(day: DayDocuments, breaches: readonly Breach[]): Set<string> {
  const locks = breaches.length > 0 ? batchesOfLocks(day) : new Map<string, string>();
  if (locks.size === 0) return new Set();
  const { loads } = inForceOf(day.inForce);
  const broken = new Set(breaches.flatMap(({ tasks }) => tasks));
  const batches = new Set<string | undefined>();
  for (const task of day.inForce!.tasks) if (broken.has(task.id)) batches.add(batchOf(task, loads));
  return new Set([...locks].filter(([, batch]) => batches.has(batch)).map(([task]) => task));
}
