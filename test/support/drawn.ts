import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { readDayFolder } from "../../services/day-folder.js";
import { draw } from "../../solver/index.js";
import { loadLp } from "./lp.js";

/** A demo day and a timetable of it, changed before it is drawn if need be. */
export async function drawn(
  name: "ordinary-day" | "holiday-spike",
  iterations = 300,
  change: (day: DayDocuments) => DayDocuments = (day) => day,
): Promise<{ day: DayDocuments; timetable: Timetable }> {
  const read = await readDayFolder(`services/demo/${name}`);
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  const day = change(read.day);
  const { timetable, breaches } = draw(day, { iterations, seed: 1, now: () => 0, lp: await loadLp() });
  if (breaches.length > 0) throw new Error(JSON.stringify(breaches.slice(0, 3)));
  return { day, timetable };
}
