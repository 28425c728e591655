import { resolveWhen } from "../calendar.js";
import type { DayIndex } from "../problem/day-index.js";
import type { MadeMix } from "../problem/keeping.js";
import type { MadeMode } from "../problem/modes.js";
import type { Prepared } from "../problem/prepare.js";

/** What the planner holds: a task that starts then, on that unit if one is given. */
export interface Wish {
  readonly task: string;
  readonly does: string;
  readonly start: number;
  readonly unit: string | undefined;
}

/** Wishes by load or batch. */
export function readWishes(index: DayIndex): Map<string, Wish[]> {
  const wishes = new Map<string, Wish[]>();
  if (!index.day.happenings.happenings.some(({ kind }) => kind === "hold")) return wishes;
  const tasks = new Map(index.day.inForce?.tasks.map((task) => [task.id, task]));
  for (const happening of index.day.happenings.happenings) {
    if (happening.kind !== "hold") continue;
    const task = tasks.get(happening.task);
    const owner = task?.load ?? task?.batch;
    const site = index.sites.get(task?.site ?? "");
    if (!task || owner === undefined || !site) continue;
    const resolved = resolveWhen(happening.start, site.timeZone);
    if ("problem" in resolved) throw new RangeError(`"${happening.start}" does not resolve; check the day first`);
    const wish = { task: task.id, does: task.does, start: resolved.minute - index.origin, unit: happening.unit };
    wishes.set(owner, [...(wishes.get(owner) ?? []), wish]);
  }
  return wishes;
}

/** The mode with the wished tasks at their times; null when it cannot have them there. */
export function wishMode(prepared: Prepared, made: MadeMode, wishes: readonly Wish[]): MadeMode | null {
  const operations = [...made.mode.operations];
  for (const { does, start, unit } of wishes) {
    const trace = made.meaning.steps.find(({ step }) => step.does === does);
    if (!trace) return null;
    const k = trace.operation;
    if (k < 0) {
      // A standing step begins when what is before it ends.
      const before = trace.hold - 1;
      if (before < 0) return null;
      const minutes = operations[before]!.alternatives[0]!.minutes;
      operations[before] = { ...operations[before]!, from: start - minutes, to: start - minutes };
      continue;
    }
    const { alternatives, from, to } = operations[k]!;
    if (start < from || start > to) return null;
    const allowed = alternatives.filter(
      ({ row }) => unit === undefined || (row >= 0 && prepared.book.meanings[row]!.unit === unit),
    );
    if (allowed.length === 0) return null;
    operations[k] = { ...operations[k]!, alternatives: allowed, from: start, to: start };
  }
  return { mode: { ...made.mode, operations }, meaning: made.meaning };
}

export function wishMix({ option, meaning }: MadeMix, wishes: readonly Wish[]): MadeMix[] {
  const { start, unit } = wishes[0]!;
  if (unit !== undefined && unit !== `${meaning.site}/${meaning.mixer}`) return [];
  if (start < option.from || start > option.to) return [];
  return [{ option: { ...option, from: start, to: start }, meaning }];
}
