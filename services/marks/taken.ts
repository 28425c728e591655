import type { Happenings, Timetable } from "../../schemas/index.js";
import { dayOfTexts, type Texts } from "../days/texts.js";
import { Problem } from "../problem.js";
import { type Told, withMarks } from "./told.js";

/** What a job found, to be put in force: as text, for it may be megabytes. */
export interface Taken {
  readonly result: string;
  /** Of a job that went by what stations had marked: its input, and the documents that it worked on. */
  readonly told?: { readonly input: string; readonly texts: Texts };
}

/** The happenings that a job took from what stations had marked; undefined when it took the day's as they are. */
function toldTo({ input, texts }: NonNullable<Taken["told"]>): Happenings | undefined {
  const { told } = JSON.parse(input) as { told?: Told };
  if (!told) return undefined;
  const day = dayOfTexts(texts);
  const { happenings } = withMarks(day, told);
  return happenings === day.happenings ? undefined : happenings;
}

/** The timetable of a job, and the happenings that it is sound with where they are not the day's: what stations had marked, or wishes that came with the request. */
export function documentsTaken({ result, told }: Taken): { timetable: Timetable; happenings?: Happenings } {
  const { timetable, happenings } = JSON.parse(result) as { timetable?: Timetable; happenings?: Happenings };
  if (timetable === undefined) throw new Problem("bad-request", "The job makes no timetable.");
  const known = happenings ?? (told && toldTo(told));
  return { timetable, ...(known === undefined ? {} : { happenings: known }) };
}
