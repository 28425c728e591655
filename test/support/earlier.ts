import type { Timetable } from "../../schemas/index.js";
import { formatInstantSeconds, parseInstant } from "../../solver/calendar.js";

const INSTANT = /\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:Z|[+-]\d\d:\d\d)/g;

/** A timetable so many days earlier, to the second: to be printed for a night on which clocks change, never to be verified. */
export function earlier(timetable: Timetable, days: number, timeZone: string): Timetable {
  const moved = JSON.stringify(timetable).replace(INSTANT, (instant) =>
    formatInstantSeconds(parseInstant(instant)! - days * 86_400, timeZone),
  );
  return JSON.parse(moved) as Timetable;
}
