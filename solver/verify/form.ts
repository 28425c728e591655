import type { Task } from "../../schemas/index.js";
import { clockText, type Facts, tasksThat } from "./facts.js";

/** The ids that are there more than once. */
function tellTwice(
  { report }: Facts,
  what: "task" | "load" | "batch",
  items: readonly { readonly id: string }[],
): void {
  const seen = new Set<string>();
  for (const { id } of items) {
    if (seen.has(id)) report.add("form", "duplicate-id", `${what} ${id} is there twice`, what === "task" ? [id] : []);
    seen.add(id);
  }
}

/** D22: what is on a van that is told to be late arrives after the window if need be, once the van has left or is loaded. */
function arrivesAfter({ day, trips, begun, before }: Facts, { id, van }: Task): boolean {
  if (van === undefined || before.get(id)?.van !== van || (trips.get(van)?.late ?? 0) === 0) return false;
  if (begun.has(id)) return true;
  return day.happenings.happenings.some(
    (happening) =>
      (happening.kind === "started" || happening.kind === "finished" || happening.kind === "running") &&
      before.get(happening.task)?.van === van,
  );
}

/** Ids are unique, references hold, times are whole minutes inside the window, and nothing ends before it starts. */
export function checkForm(facts: Facts): void {
  const { report, timetable } = facts;
  const loads = new Set<string>();
  for (const { id } of timetable.loads) loads.add(id);
  if (facts.tasksById.size < timetable.tasks.length) tellTwice(facts, "task", timetable.tasks);
  if (loads.size < timetable.loads.length) tellTwice(facts, "load", timetable.loads);
  if (facts.batches.size < timetable.batches.length) tellTwice(facts, "batch", timetable.batches);
  for (const { task, start, end } of facts.tasks) {
    if (!facts.sites.has(task.site))
      report.add("form", "unknown-reference", `task ${task.id} is at a site that does not exist: ${task.site}`, [
        task.id,
      ]);
    if (task.load !== undefined && !loads.has(task.load))
      report.add("form", "unknown-reference", `task ${task.id} is of a load that does not exist: ${task.load}`, [
        task.id,
      ]);
    if (task.batch !== undefined && !facts.batches.has(task.batch))
      report.add("form", "unknown-reference", `task ${task.id} is of a batch that does not exist: ${task.batch}`, [
        task.id,
      ]);
    if (!Number.isInteger(start) || !Number.isInteger(end)) {
      report.add("form", "not-whole-minutes", `task ${task.id} does not start and end on whole minutes`, [task.id]);
      continue;
    }
    if (end < start) report.add("form", "ends-before-start", `task ${task.id} ends before it starts`, [task.id]);
    if (start < facts.from || (end > facts.to && !arrivesAfter(facts, task))) {
      report.add(
        "form",
        "outside-window",
        `task ${task.id} (${clockText(start)} to ${clockText(end)}) is not inside the window`,
        [task.id],
        { from: task.start, to: task.end },
      );
    }
  }
  /** By batch. */
  const mixed = new Map<string, string>();
  for (const { task } of tasksThat(facts, "mix")) if (task.batch !== undefined) mixed.set(task.batch, task.id);
  const drawnFrom = new Set<string>();
  for (const { batch } of timetable.loads) drawnFrom.add(batch);
  for (const batch of timetable.batches) {
    if (!facts.sites.has(batch.site) || !facts.doughs.has(batch.dough))
      report.add("form", "unknown-reference", `batch ${batch.id} names a site or dough that does not exist`);
    if (!mixed.has(batch.id)) report.add("R2", "not-mixed", `batch ${batch.id} has no mix`);
    const mix = mixed.get(batch.id);
    if (!drawnFrom.has(batch.id))
      report.add("R2", "mixed-for-nothing", `no load draws from batch ${batch.id}`, mix === undefined ? [] : [mix]);
  }
}
