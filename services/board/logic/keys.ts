import type { PlannedTask } from "./plan.js";
import type { LaidRow } from "./rows/layout.js";

/** Tasks of a row in order of time; those that stand there when the row is a strip. */
function tasksOf(row: LaidRow, all: readonly PlannedTask[]): PlannedTask[] {
  const found: PlannedTask[] = [];
  if (row.row.gauge && row.row.station !== "crew") {
    const unit = row.row.id;
    for (const task of all)
      if (task.task.places?.some((place) => place.unit === unit || place.unit.startsWith(`${unit}/`))) found.push(task);
    return found;
  }
  const seen = new Set<string>();
  for (const bar of row.row.bars) {
    if (!bar.task || seen.has(bar.task.id)) continue;
    seen.add(bar.task.id);
    found.push(bar.task);
  }
  return found.sort((a, b) => a.fromMs - b.fromMs || a.id.localeCompare(b.id));
}

/** Where the arrow keys lead from a task: to its neighbour in the row, or to the nearest in time of the next row that has any. */
export function neighbour(
  rows: readonly LaidRow[],
  all: readonly PlannedTask[],
  picked: PlannedTask | undefined,
  towards: "left" | "right" | "up" | "down",
): PlannedTask | undefined {
  const lists = rows.map((row) => tasksOf(row, all));
  if (!picked) return lists.find((list) => list.length > 0)?.[0];
  const at = lists.findIndex((list) => list.some((task) => task.id === picked.id));
  if (at < 0) return lists.find((list) => list.length > 0)?.[0];
  const own = lists[at]!;
  const index = own.findIndex((task) => task.id === picked.id);
  if (towards === "left") return own[Math.max(0, index - 1)];
  if (towards === "right") return own[Math.min(own.length - 1, index + 1)];
  const step = towards === "down" ? 1 : -1;
  for (let i = at + step; i >= 0 && i < lists.length; i += step) {
    const list = lists[i]!.filter((task) => task.id !== picked.id);
    if (list.length > 0)
      return list.reduce((best, task) =>
        Math.abs(task.fromMs - picked.fromMs) < Math.abs(best.fromMs - picked.fromMs) ? task : best,
      );
  }
  return picked;
}
