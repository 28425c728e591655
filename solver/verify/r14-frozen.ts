import type { Task, Timetable } from "../../schemas/index.js";
import type { Facts } from "./facts.js";
import { instantSeconds } from "./time.js";

function placesText(task: Task): string {
  return JSON.stringify(
    [...(task.places ?? [])].map(({ item, unit, position }) => `${item} ${unit} ${position}`).sort(),
  );
}

function sameMakeUp(before: Timetable, after: Timetable, task: Task): string | null {
  if (task.batch !== undefined) {
    const old = before.batches.find((batch) => batch.id === task.batch);
    const now = after.batches.find((batch) => batch.id === task.batch);
    return old && now && old.dough === now.dough && old.site === now.site ? null : `batch ${task.batch}`;
  }
  if (task.load === undefined) return null;
  const old = before.loads.find((load) => load.id === task.load);
  const now = after.loads.find((load) => load.id === task.load);
  const key = (load: typeof old): string =>
    JSON.stringify(load ? [load.product, load.pieces, load.pans, load.batch, load.tubs] : null);
  return old && now && key(old) === key(now) ? null : `load ${task.load}`;
}

/** R14: what is locked is where and when the timetable in force has it. D20. */
export function checkFrozen(facts: Facts): void {
  const { day, timetable, report } = facts;
  for (const happening of day.happenings.happenings) {
    if (happening.kind !== "lock") continue;
    const before = day.inForce?.tasks.find((task) => task.id === happening.task);
    if (!before || !day.inForce) {
      report.add("R14", "lock-unknown", `the locked task ${happening.task} is not in the timetable in force`, [
        happening.task,
      ]);
      continue;
    }
    const now = timetable.tasks.find((task) => task.id === happening.task);
    if (!now) {
      report.add("R14", "locked-gone", `the locked task ${happening.task} is gone`, [happening.task]);
      continue;
    }
    const moved: string[] = [];
    if (
      instantSeconds(before.start) !== instantSeconds(now.start) ||
      instantSeconds(before.end) !== instantSeconds(now.end)
    )
      moved.push("time");
    if (before.unit !== now.unit || before.site !== now.site) moved.push("unit");
    if (placesText(before) !== placesText(now)) moved.push("places");
    if (JSON.stringify(before.crew) !== JSON.stringify(now.crew)) moved.push("crew");
    if (moved.length > 0)
      report.add(
        "R14",
        "locked-moved",
        `the locked task ${happening.task} has another ${moved.join(", ")} than before`,
        [happening.task],
      );
    const changed = sameMakeUp(day.inForce, timetable, before);
    if (changed)
      report.add(
        "R14",
        "locked-changed",
        `${changed} of the locked task ${happening.task} has another make-up than before`,
        [happening.task],
      );
  }
}
