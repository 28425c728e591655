import type { Task } from "../schemas/index.js";

/** For people: where something is that has no place, because it was to go on at once and could not. */
export const UNPLACED = "where it waits";

/** How a task that goes on with another one's items is named (D21): after that one. */
const CARRIED = "-carried";
const REST = "-2";

/**
 * The task whose items this one has from where their place failed: the bake that was cut short for what is left of it on another deck, the stay for the same items in
 * other positions. Undefined for any other task.
 */
export function carriedFrom({ id, does, load }: Task): string | undefined {
  if (id.endsWith(CARRIED)) return id.slice(0, -CARRIED.length);
  return does === "bake" && id === `${load}-bake${REST}` ? id.slice(0, -REST.length) : undefined;
}

/** Tasks by the task that they have their items from, where that is among them. */
export function carriedOn(tasks: readonly Task[]): ReadonlyMap<string, Task> {
  const found = new Map<string, Task>();
  for (const task of tasks) {
    const from = carriedFrom(task);
    if (from !== undefined) found.set(from, task);
  }
  return found;
}

/** The two tasks with what really changes place: some items may keep theirs while others of the load lose it. */
export function whatIsCarried(first: Task, rest: Task): { readonly first: Task; readonly rest: Task } {
  const spots = (task: Task): ReadonlyMap<string, string> =>
    new Map((task.places ?? []).map(({ item, unit, position }) => [item, `${unit} ${position}`]));
  const [from, to] = [spots(first), spots(rest)];
  const moved = (task: Task): Task => {
    const places = task.places?.filter(({ item }) => from.get(item) !== to.get(item));
    return places === undefined ? task : { ...task, places };
  };
  return { first: moved(first), rest: moved(rest) };
}
