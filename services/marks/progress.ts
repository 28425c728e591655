import type { Task } from "../../schemas/index.js";
import { formatInstant } from "../../solver/calendar.js";
import { type Mark, minuteOf, type NewMark } from "./mark.js";
import { troubleIn } from "./trouble.js";

/** A task as its station sees it: when it really began, and when it is over then. Epoch minutes. */
export interface Progress {
  /** Undefined as long as nobody said that it began. */
  readonly start: number | undefined;
  readonly end: number;
}

/** What stands there until it is called for: when it is over depends on what follows, not on when it began. */
const UNTIL_CALLED: ReadonlySet<Task["does"]> = new Set(["retard", "temper"]);

/** By how many minutes a station said that a task takes longer. */
function longerBy({ trouble, note }: NewMark): number {
  const said = trouble ?? troubleIn(note ?? "");
  return said?.is === "longer" ? said.minutes : 0;
}

/** Does a station say that a task takes longer? */
export function isLonger(mark: NewMark): boolean {
  return mark.what === "trouble" && longerBy(mark) > 0;
}

/**
 * How a task goes by what was marked of it, in order: what began late is over late, as it takes as long as it takes, and each "longer" comes on top. A mark that the server
 * has says until when; one that it does not have yet is understood in the same way.
 */
export function progressOf(
  task: Pick<Task, "does" | "start" | "end">,
  marks: readonly (NewMark & Pick<Mark, "happening">)[],
): Progress {
  const plannedEnd = minuteOf(task.end);
  let start: number | undefined;
  let end = plannedEnd;
  for (const mark of marks) {
    const at = minuteOf(mark.at);
    if (mark.what === "started") {
      start = at;
      end = UNTIL_CALLED.has(task.does) ? Math.max(plannedEnd, at) : at + plannedEnd - minuteOf(task.start);
    } else if (mark.happening?.kind === "running") end = Math.max(end, minuteOf(mark.happening.until));
    else if (longerBy(mark) > 0) end = Math.max(end, at) + longerBy(mark);
  }
  return { start, end };
}

/** The task with the end that its station sees: what takes longer takes longer than that. */
export function asMarked(task: Task, marks: readonly Mark[], zone: string): Task {
  const { end } = progressOf(
    task,
    marks.filter((mark) => mark.task === task.id && mark.setAside === undefined),
  );
  return end === minuteOf(task.end) ? task : { ...task, end: formatInstant(end, zone) };
}
