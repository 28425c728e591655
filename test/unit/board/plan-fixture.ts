import type { DayDocuments, Timetable } from "../../../schemas/index.js";
import { readDayFolder } from "../../../services/day-folder.js";
import { draw } from "../../../solver/index.js";
import { loadLp } from "../../support/lp.js";

let made: Promise<{ day: DayDocuments; timetable: Timetable }> | undefined;

/** The demo day with a timetable that a real, short, reproducible search drew. */
export function demoDay(): Promise<{ day: DayDocuments; timetable: Timetable }> {
  made ??= (async () => {
    const read = await readDayFolder("services/demo/ordinary-day");
    if ("issues" in read) throw new Error(JSON.stringify(read.issues));
    const { timetable } = draw(read.day, { iterations: 300, now: () => 0, lp: await loadLp() });
    return { day: read.day, timetable };
  })();
  return made;
}
