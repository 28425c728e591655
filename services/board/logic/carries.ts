import type { Task } from "../../../schemas/index.js";
import { carriedFrom, UNPLACED, whatIsCarried } from "../../../solver/carried.js";
import { MINUTE } from "./clock.js";
import { runs } from "./lanes.js";
import { type Plan, type PlannedTask, unitName } from "./plan.js";

/** What is carried from a place that fails to another: one thing to do, though two tasks. */
export interface Carry {
  readonly first: PlannedTask;
  readonly rest: PlannedTask;
  /** The same two with only what changes place. */
  readonly from: Task;
  readonly to: Task;
  /** Half-baked, out of one deck and into another. */
  readonly isHot: boolean;
  /** What is left to bake, or how long it stands there. */
  readonly leftMinutes: number;
}

function carryOf(plan: Plan, rest: PlannedTask): Carry | undefined {
  const from = carriedFrom(rest.task);
  const first = from === undefined ? undefined : plan.byId.get(from);
  if (!first) return undefined;
  const leftMinutes = Math.round((rest.toMs - rest.fromMs) / MINUTE);
  const moved = whatIsCarried(first.task, rest.task);
  return { first, rest, from: moved.first, to: moved.rest, isHot: rest.task.does === "bake", leftMinutes };
}

const known = new WeakMap<Plan, ReadonlyMap<string, Carry>>();

/** By the task that is left and by the task that it goes on in. */
export function carriesOf(plan: Plan): ReadonlyMap<string, Carry> {
  const before = known.get(plan);
  if (before) return before;
  const found = new Map<string, Carry>();
  for (const task of plan.tasks) {
    const carry = carryOf(plan, task);
    if (!carry) continue;
    found.set(carry.first.id, carry);
    found.set(carry.rest.id, carry);
  }
  known.set(plan, found);
  return found;
}

/** "Deck oven east, deck 2", "Upright fridge, shelf 3, position 1": positions are named where they are looked for, on shelves. */
export function spotOf(plan: Plan, task: Task): string {
  if (task.unit) return unitName(plan, task.unit);
  if (!task.places) return UNPLACED;
  const byUnit = new Map<string, number[]>();
  for (const { unit, position } of task.places ?? []) byUnit.set(unit, [...(byUnit.get(unit) ?? []), position]);
  return [...byUnit]
    .map(([unit, positions]) => {
      const list = runs(positions).map(([a, b]) => (a === b ? `${a}` : `${a}–${b}`));
      return `${unitName(plan, unit)}, ${positions.length === 1 ? "position" : "positions"} ${list.join(", ")}`;
    })
    .join("; ");
}
