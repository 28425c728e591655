import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { unknownToDay } from "../../solver/check/begun.js";
import { BadRequest } from "./operation.js";

/** The timetable that a request names, or the one in force. BadRequest: there is none, or it makes what the documents of the day know nothing of. */
export function timetableOf(day: DayDocuments, given?: Timetable): Timetable {
  const timetable = given ?? day.inForce;
  if (!timetable) throw new BadRequest("there is no timetable in force, and none came with the request");
  const unknown = unknownToDay(day, timetable);
  if (unknown !== null)
    throw new BadRequest(
      `the timetable ${given ? "that came with the request" : "in force"} makes ${unknown}: put that back, or draw the day up again`,
    );
  return timetable;
}
