import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { unknownToDay } from "../../solver/check/begun.js";
import { UsageError } from "./arguments.js";

/** A timetable that makes what the day folder knows nothing of is not read with it. */
export function mustBeOfDay(day: DayDocuments, timetable: Timetable, file: string): void {
  const unknown = unknownToDay(day, timetable);
  if (unknown !== null)
    throw new UsageError(
      `${file} makes ${unknown}. It is of another day, or the day was changed since: draw it up again, or put that back.`,
    );
}
