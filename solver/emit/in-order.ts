import type { Task } from "../../schemas/index.js";
import type { DayIndex } from "../problem/day-index.js";
import { startIn } from "../problem/kept.js";

/** Minutes from the first task to the last up to which tasks are counted out by minute: a timetable in force may name any year. */
const MOST_MINUTES = 100_000;

/** Tasks in order of start, those of one minute by id: counted out by minute, as sorting would compare each a dozen times. */
export function inOrder(index: DayIndex, tasks: readonly Task[]): Task[] {
  const starts = new Float64Array(tasks.length);
  let first = 0;
  let last = 0;
  for (let i = 0; i < tasks.length; i++) {
    const start = startIn(index, tasks[i]!);
    starts[i] = start;
    first = Math.min(first, start);
    last = Math.max(last, start);
  }
  if (last - first > MOST_MINUTES) return sortedByStart(tasks, starts);
  /** By minute: where the next task of it goes. */
  const next = new Int32Array(last - first + 2);
  for (const start of starts) next[start - first + 1] = next[start - first + 1]! + 1;
  for (let m = 1; m < next.length; m++) next[m] = next[m]! + next[m - 1]!;
  const sorted: Task[] = new Array(tasks.length);
  for (let i = 0; i < tasks.length; i++) {
    const minute = starts[i]! - first;
    sorted[next[minute]!] = tasks[i]!;
    next[minute] = next[minute]! + 1;
  }
  // Now each minute's tasks end where the next one's began.
  for (let m = 0, from = 0; m + 1 < next.length; m++) {
    sortById(sorted, from, next[m]!);
    from = next[m]!;
  }
  return sorted;
}

function sortedByStart(tasks: readonly Task[], starts: Float64Array): Task[] {
  const order = Array.from(starts, (_, i) => i);
  order.sort((a, b) => starts[a]! - starts[b]! || (tasks[a]!.id < tasks[b]!.id ? -1 : 1));
  return order.map((i) => tasks[i]!);
}

/** In place, [from, to): a few. */
function sortById(tasks: Task[], from: number, to: number): void {
  for (let i = from + 1; i < to; i++) {
    const task = tasks[i]!;
    let at = i;
    while (at > from && task.id < tasks[at - 1]!.id) {
      tasks[at] = tasks[at - 1]!;
      at--;
    }
    tasks[at] = task;
  }
}
