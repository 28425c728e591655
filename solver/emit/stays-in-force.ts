import type { Place } from "../../schemas/index.js";
import type { DayIndex } from "../problem/day-index.js";
import type { Problem } from "../problem/index.js";
import { type Kept, minuteIn } from "../problem/kept.js";
import type { MadeLoad } from "./context.js";

/** Places that a stay of a load had, or must have. */
export interface Had {
  readonly from: number;
  /** When it was over; infinity where that makes no difference. */
  readonly to: number;
  readonly places: readonly Place[];
}

/** By load. */
export type Held = Map<number, Had[]>;

function hold(held: Held, load: number, had: Had): void {
  const own = held.get(load);
  if (own) own.push(had);
  else held.set(load, [had]);
}

/** Of two from one minute on the later written counts. */
export function heldFrom(held: Held, load: number, from: number): Had | undefined {
  const own = held.get(load);
  if (!own) return undefined;
  for (let i = own.length - 1; i >= 0; i--) if (own[i]!.from === from) return own[i];
  return undefined;
}

/** Positions of begun and locked tasks. */
export function fixedPositions(problem: Problem, loads: readonly MadeLoad[]): Held {
  const fixed: Held = new Map();
  const to = Number.POSITIVE_INFINITY;
  for (const load of loads) {
    let from = 0;
    const begun = problem.begun?.loads.get(load.spec.id)?.tasks ?? [];
    for (const { task, start } of begun) {
      // To the search a stay whose items were carried is one, where they are now.
      if (!task.id.endsWith("-carried")) from = start;
      if (task.places) hold(fixed, load.number, { from, to, places: task.places });
    }
    for (const { id, places, start } of problem.kept.locked.get(load.spec.id) ?? []) {
      // What has begun was there when it began, not when it was planned to: something else of the load may begin then.
      if (!places || places.length === 0 || begun.some(({ task }) => task.id === id)) continue;
      hold(fixed, load.number, { from: minuteIn(problem.index, start), to, places });
    }
  }
  return fixed;
}

/** Stays of the timetable in force by load, in minutes since the epoch: kept with it. */
export type Stood = ReadonlyMap<string, readonly Had[]>;

const stoodKnown = new WeakMap<Kept["tasks"], Stood>();
export const NEVER_STOOD: Stood = new Map();

export function stoodIn({ kept, index }: Problem): Stood {
  let stood = stoodKnown.get(kept.tasks);
  if (!stood) {
    stood = readStays(kept.tasks, index);
    stoodKnown.set(kept.tasks, stood);
  }
  return stood;
}

function readStays(tasks: Kept["tasks"], index: DayIndex): Stood {
  const stood = new Map<string, Had[]>();
  for (const [owner, own] of tasks) {
    const stays: Had[] = [];
    for (const { places, start, end } of own) {
      if (!places || places.length === 0) continue;
      stays.push({ from: index.origin + minuteIn(index, start), to: index.origin + minuteIn(index, end), places });
    }
    if (stays.length > 0) stood.set(owner, stays);
  }
  return stood;
}

/**
 * The places of a stay in the timetable in force, if it is as long as there: kept if they can be, so that nobody has to be told. Of two alike the later
 * written counts.
 */
export function hadThen(own: readonly Had[] | undefined, from: number, to: number): readonly Place[] | undefined {
  if (!own) return undefined;
  for (let i = own.length - 1; i >= 0; i--) if (own[i]!.from === from && own[i]!.to === to) return own[i]!.places;
  return undefined;
}
