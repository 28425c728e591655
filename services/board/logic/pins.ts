import type { Happening, Happenings } from "../../../schemas/index.js";
import type { Plan, PlannedTask } from "./plan.js";

/** lock: stays where the timetable in force has it. hold: was moved there by hand. Both stay there when the day is drawn up or repaired again. */
export type Pin = "lock" | "hold";

/** Which tasks a day's happenings pin. */
export function pinsOf({ happenings }: Happenings): Map<string, Pin> {
  const pins = new Map<string, Pin>();
  for (const happening of happenings)
    if (happening.kind === "hold" || (happening.kind === "lock" && !pins.has(happening.task)))
      pins.set(happening.task, happening.kind);
  return pins;
}

/** Only what belongs to a load or a batch: cleaning follows from them. */
export function canPin(task: PlannedTask): boolean {
  return task.task.does !== "clean" && (task.load !== undefined || task.batch !== undefined);
}

const isPinOf = (happening: Happening, tasks: ReadonlySet<string>): boolean =>
  (happening.kind === "lock" || happening.kind === "hold") && tasks.has(happening.task);

/** With locks for these tasks; what is held already stays held. */
export function withPins(happenings: Happenings, tasks: readonly string[]): Happenings {
  const pins = pinsOf(happenings);
  const fresh = tasks.filter((task) => !pins.has(task)).map((task): Happening => ({ kind: "lock", task }));
  return { ...happenings, happenings: [...happenings.happenings, ...fresh] };
}

/** Without locks and holds of these tasks. */
export function withoutPins(happenings: Happenings, tasks: readonly string[]): Happenings {
  const those = new Set(tasks);
  return { ...happenings, happenings: happenings.happenings.filter((happening) => !isPinOf(happening, those)) };
}

export interface PinGroup {
  /** A load's or a batch's id. */
  readonly owner: string;
  readonly tasks: readonly PlannedTask[];
}

/** What is pinned, by load or mix, in order of time. */
export function pinGroups(plan: Plan): PinGroup[] {
  const groups = new Map<string, PlannedTask[]>();
  for (const task of plan.tasks) {
    if (!plan.pins.has(task.id)) continue;
    const owner = task.load?.id ?? task.batch?.id ?? task.id;
    groups.set(owner, [...(groups.get(owner) ?? []), task]);
  }
  return [...groups].map(([owner, tasks]) => ({ owner, tasks }));
}
