import type { Batch, Load, Task, Timetable } from "../../schemas/index.js";
import { firstById } from "./by-id.js";
import { instantSeconds } from "./time.js";

/** A task of the timetable in force, in epoch minutes. */
export interface PlannedTask {
  readonly task: Task;
  readonly start: number;
  readonly end: number;
  readonly stands: boolean;
}

/** A task with its times as epoch minutes (NaN where malformed). */
export interface TaskFact {
  readonly task: Task;
  readonly start: number;
  readonly end: number;
}

export function readTask(task: Task): TaskFact {
  return { task, start: instantSeconds(task.start) / 60, end: instantSeconds(task.end) / 60 };
}

/** The timetable in force looked up, kept with it: it does not change. */
export interface InForceFacts {
  /** Of two with one id the first counts. */
  readonly tasks: ReadonlyMap<string, Task>;
  readonly batches: ReadonlyMap<string, Batch>;
  readonly loads: ReadonlyMap<string, Load>;
  /** All tasks with their times, by id; of two with one id the last counts. */
  readonly facts: ReadonlyMap<string, TaskFact>;
  /** By batch; of two the last counts. */
  readonly mixes: ReadonlyMap<string, PlannedTask>;
  /** By load, in order of start. */
  readonly chains: ReadonlyMap<string, readonly PlannedTask[]>;
}

const known = new WeakMap<Timetable, InForceFacts>();

export function inForceFacts(timetable: Timetable): InForceFacts {
  let facts = known.get(timetable);
  if (!facts) {
    facts = readTimetable(timetable);
    known.set(timetable, facts);
  }
  return facts;
}

const STANDS: ReadonlySet<Task["does"]> = new Set(["rest", "retard", "temper", "proof", "cool"]);

function readTimetable({ tasks, batches, loads }: Timetable): InForceFacts {
  const mixes = new Map<string, PlannedTask>();
  const chains = new Map<string, PlannedTask[]>();
  const facts = new Map<string, TaskFact>();
  for (const task of tasks) {
    const fact = readTask(task);
    facts.set(task.id, fact);
    if (task.does !== "mix" && task.load === undefined) continue;
    const planned = { task, start: fact.start, end: fact.end, stands: STANDS.has(task.does) };
    if (task.does === "mix") mixes.set(task.batch!, planned);
    if (task.load === undefined) continue;
    const own = chains.get(task.load);
    if (own) own.push(planned);
    else chains.set(task.load, [planned]);
  }
  for (const chain of chains.values()) chain.sort(inOrder);
  return { tasks: firstById(tasks), batches: firstById(batches), loads: firstById(loads), facts, mixes, chains };
}

function inOrder(a: PlannedTask, b: PlannedTask): number {
  return a.start - b.start || a.end - b.end;
}
