import type { Happening, Task } from "../../schemas/index.js";
import { resolveWhen } from "../calendar.js";
import { type DayIndex, isOf } from "../problem/day-index.js";
import { inForceOf } from "../problem/in-force.js";
import type { MadeMix } from "../problem/keeping.js";
import { minuteIn } from "../problem/kept.js";
import type { MadeMode } from "../problem/modes.js";
import type { Prepared } from "../problem/prepare.js";
import type { Operation } from "../search/model.js";
import type { Standing } from "./standing.js";

/** What the planner holds: a task that starts then, on that unit if one is given. */
export interface Wish {
  readonly task: string;
  readonly does: string;
  readonly start: number;
  /** As long as it takes in the timetable in force. */
  readonly minutes: number;
  /** As long as the work before it takes there: what stands begins when that ends. */
  readonly minutesBefore: number;
  readonly unit: string | undefined;
}

/**
 * Wishes that still hold anything, by load or batch: of what has begun nothing is left to wish for, nor of what is thrown away, nor for a time that is past or
 * a unit that is out of service then.
 */
export function wishesAhead(index: DayIndex, standing: Standing): Map<string, Wish[]> {
  const ahead = new Map<string, Wish[]>();
  for (const [owner, wishes] of readWishes(index)) {
    if (standing.loads.get(owner)?.scrapped) continue;
    const left = wishes.filter(
      (wish) => wish.start >= standing.at && !hasBegun(standing, owner, wish.task) && !isUnitOut(index, wish),
    );
    if (left.length > 0) ahead.set(owner, left);
  }
  return ahead;
}

/** Has a task of a load or batch begun? */
export function hasBegun({ loads, batches }: Standing, owner: string, task: string): boolean {
  if (batches.get(owner)?.mix.task.id === task) return true;
  return loads.get(owner)?.tasks.some((begun) => begun.task.id === task) ?? false;
}

function isUnitOut(index: DayIndex, { unit, start, minutes }: Wish): boolean {
  return unit !== undefined && isOutOver(index, unit, start, start + minutes);
}

/** Is a unit out of service at some minute of a time? */
export function isOutOver(index: DayIndex, unit: string, from: number, to: number): boolean {
  return index.outages.some((outage) => isOf(unit, outage.unit) && outage.from < to && from < outage.to);
}

/** Wishes by load or batch. Of one task the last counts. */
export function readWishes(index: DayIndex): Map<string, Wish[]> {
  const wishes = new Map<string, Wish[]>();
  const last = new Map<string, Happening & { kind: "hold" }>();
  for (const happening of index.day.happenings.happenings)
    if (happening.kind === "hold") last.set(happening.task, happening);
  if (last.size === 0) return wishes;
  const tasks = new Map(index.day.inForce?.tasks.map((task) => [task.id, task]));
  for (const happening of last.values()) {
    const task = tasks.get(happening.task);
    const owner = task?.load ?? task?.batch;
    const site = index.sites.get(task?.site ?? "");
    if (!task || owner === undefined || !site) continue;
    const resolved = resolveWhen(happening.start, site.timeZone);
    if ("problem" in resolved) throw new RangeError(`"${happening.start}" does not resolve; check the day first`);
    const minutes = minuteIn(index, task.end) - minuteIn(index, task.start);
    const start = resolved.minute - index.origin;
    const minutesBefore = lengthBefore(index, task);
    const wish = { task: task.id, does: task.does, start, minutes, minutesBefore, unit: happening.unit };
    wishes.set(owner, [...(wishes.get(owner) ?? []), wish]);
  }
  return wishes;
}

/** Of the task before it in its load, minutes; 0 without one. */
function lengthBefore(index: DayIndex, { id, load = "" }: Task): number {
  const chain = inForceOf(index.day.inForce).chains.get(load) ?? [];
  const before = chain[chain.findIndex((one) => one.id === id) - 1];
  return before ? minuteIn(index, before.end) - minuteIn(index, before.start) : 0;
}

/** How long the work before a standing step takes where it is wished for: as now, if some unit takes so long. */
export function workBefore(alternatives: Operation["alternatives"], { minutesBefore }: Wish): number {
  return alternatives.some(({ minutes }) => minutes === minutesBefore) ? minutesBefore : alternatives[0]!.minutes;
}

/** The mode with the wished tasks at their times; null when it cannot have them there. */
export function wishMode(prepared: Prepared, made: MadeMode, wishes: readonly Wish[]): MadeMode | null {
  const operations = [...made.mode.operations];
  for (const wish of wishes) {
    const { does, start, unit } = wish;
    const trace = made.meaning.steps.find(({ step }) => step.does === does);
    if (!trace) return null;
    const k = trace.operation;
    if (k < 0) {
      // A standing step begins when what is before it ends.
      const before = trace.hold - 1;
      if (before < 0) return null;
      const { alternatives, from, to } = operations[before]!;
      const minutes = workBefore(alternatives, wish);
      const begin = start - minutes;
      if (begin < from || begin > to) return null;
      operations[before] = {
        ...operations[before]!,
        alternatives: alternatives.filter((one) => one.minutes === minutes),
        from: begin,
        to: begin,
      };
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
