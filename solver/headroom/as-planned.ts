import type { DayDocuments } from "../../schemas/index.js";
import { OF_TIMETABLE } from "../problem/told.js";

/**
 * The day as it would be planned from its first minute, with what is known now of units, people, orders and vans. Whether a demand fits is asked of that: not of what
 * is left of a day that has begun, nor around pins.
 */
export function asPlanned({ inForce, ...day }: DayDocuments): DayDocuments {
  const { at, happenings, ...rest } = day.happenings;
  if (!inForce && at === undefined) return day;
  const left = happenings.filter(({ kind }) => kind !== "lock" && !OF_TIMETABLE.has(kind));
  return { ...day, happenings: { ...rest, happenings: left } };
}
