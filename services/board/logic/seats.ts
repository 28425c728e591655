import type { Place } from "../../../schemas/index.js";
import type { Moved } from "./chain.js";
import type { Plan, PlannedTask } from "./plan.js";

/** Positions of a unit that other tasks leave free throughout a span, from 1 up to the highest that is in use anywhere in the day. */
export function freePositions(
  plan: Plan,
  unit: string,
  fromMs: number,
  toMs: number,
  without: ReadonlySet<string>,
  highest: number,
): number[] {
  const taken = new Set<number>();
  for (const task of plan.tasks) {
    if (without.has(task.id) || task.toMs <= fromMs || task.fromMs >= toMs) continue;
    for (const place of task.task.places ?? []) if (place.unit === unit) taken.add(place.position);
  }
  return Array.from({ length: highest }, (_, i) => i + 1).filter((position) => !taken.has(position));
}

function highestOf(plan: Plan, unit: string): number {
  let most = 1;
  for (const task of plan.tasks)
    for (const place of task.task.places ?? []) if (place.unit === unit) most = Math.max(most, place.position);
  return most;
}

/** Positions for a moved task: those that it has where they are free, else others of the same unit, else the old ones (the verifier then objects). */
export function seatsFor(
  plan: Plan,
  task: PlannedTask,
  moved: Moved,
  without: ReadonlySet<string>,
): Place[] | undefined {
  const places = task.task.places;
  if (!places) return undefined;
  const target = moved.unit && moved.unit !== task.task.unit ? moved.unit : undefined;
  const wanted = places.map((place) => ({ ...place, unit: target ?? place.unit }));
  const free = new Map<string, Set<number>>();
  for (const { unit } of wanted) {
    if (!free.has(unit))
      free.set(
        unit,
        new Set(
          freePositions(plan, unit, moved.fromMs, moved.toMs, without, Math.max(highestOf(plan, unit), places.length)),
        ),
      );
  }
  const given: Place[] = [];
  for (const place of wanted) {
    const own = free.get(place.unit)!;
    const position = own.has(place.position) ? place.position : [...own][0];
    if (position === undefined) return wanted;
    own.delete(position);
    given.push({ ...place, position });
  }
  return given;
}
