import { clockText, type Facts } from "./facts.js";

/** R14: what was told not to be able to start yet starts no sooner. What stands begins when the work before it ends, what is locked stays. D21. */
export function checkWaiting(facts: Facts): void {
  const { waiting, begun, report } = facts;
  if (waiting.size === 0) return;
  const locked = new Set(facts.day.happenings.happenings.flatMap((one) => (one.kind === "lock" ? [one.task] : [])));
  for (const [id, notBefore] of waiting) {
    const now = facts.tasksById.get(id);
    if (!now || begun.has(id) || locked.has(id) || now.start >= notBefore) continue;
    // What is told of a cleaning is for the record: it follows from what comes before and after it, and is named anew each time.
    if (now.task.does === "clean" || followsWork(facts, id)) continue;
    report.add(
      "R14",
      "too-soon",
      `${id} starts at ${clockText(now.start)}, it was told not to start before ${clockText(notBefore)}`,
      [id],
    );
  }
}

const STANDS: ReadonlySet<string> = new Set(["rest", "retard", "temper", "proof", "cool"]);

/** A standing step after work, or a part of one: when it starts is not decided, but for the rest of a bake. */
function followsWork(facts: Facts, id: string): boolean {
  const { task } = facts.tasksById.get(id)!;
  if (!STANDS.has(task.does)) return false;
  if (/-(2|carried)$/.test(id)) return true;
  const tasks = facts.loadsById.get(task.load ?? "")?.tasks ?? [];
  const before = tasks[tasks.findIndex((one) => one.task.id === id) - 1];
  return before === undefined || !STANDS.has(before.task.does);
}
