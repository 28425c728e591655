import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { readDayFolder } from "../../services/day-folder.js";
import { draw } from "../../solver/index.js";
import { loadLp } from "./lp.js";

/** The demo's ordinary day, and a timetable of it: the same every time. */
export async function demoInForce(): Promise<{ day: DayDocuments; inForce: Timetable }> {
  const lp = await loadLp();
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  return { day: read.day, inForce: draw(read.day, { iterations: 600, seed: 1, now: () => 0, lp }).timetable };
}
