import type { Task, Timetable } from "../../schemas/index.js";
import type { DayIndex } from "../problem/day-index.js";
import { endIn, startIn } from "../problem/kept.js";

/** A task before it is a node: minutes of the window. */
export interface Draft {
  readonly task: Task;
  readonly start: number;
  readonly end: number;
}

function inOrder(a: Draft, b: Draft): number {
  return a.start - b.start || a.end - b.end || (a.task.id < b.task.id ? -1 : 1);
}

/** The tasks of a timetable with their minutes, in order of start. */
export function draftsOf(index: DayIndex, timetable: Timetable): Draft[] {
  const drafts: Draft[] = [];
  for (const task of timetable.tasks) drafts.push({ task, start: startIn(index, task), end: endIn(index, task) });
  return sorted(drafts);
}

/** In place. Tasks are written in order of start mostly, so that each has but a few to pass. */
function sorted(drafts: Draft[]): Draft[] {
  for (let i = 1; i < drafts.length; i++) if (drafts[i]!.start < drafts[i - 1]!.start) return drafts.sort(inOrder);
  for (let i = 1; i < drafts.length; i++) {
    const draft = drafts[i]!;
    let at = i;
    while (at > 0 && inOrder(draft, drafts[at - 1]!) < 0) {
      drafts[at] = drafts[at - 1]!;
      at--;
    }
    drafts[at] = draft;
  }
  return drafts;
}
