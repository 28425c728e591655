import type { RawInput } from "../days/checker-thread.js";
import type { DayRecord } from "../days/day.js";
import type { Author, CheckedDocuments } from "../days/days.js";
import type { Taken } from "../marks/taken.js";
import { Problem } from "../problem.js";
import type { Transaction } from "../store/transact.js";
import { command } from "./command.js";
import { mustMatch, tagOf } from "./conditional.js";
import type { Asked, Reply } from "./route.js";

export const NOTE = { note: { type: "string", maxLength: 200, description: "Why; kept in the history." } };

export function authorOf(asked: Asked): Author {
  const note = asked.query.note as string | undefined;
  return { by: asked.actor.name, at: asked.at, ...(note === undefined ? {} : { note }) };
}

/** Checks outside the commit, and again when the day's other documents changed meanwhile. */
export async function save(
  asked: Asked,
  id: string,
  action: string,
  fresh: RawInput,
  before: (tx: Transaction, checked: CheckedDocuments) => Promise<void>,
  reply: (day: DayRecord) => Reply,
  author: Author = authorOf(asked),
): Promise<Reply> {
  const { days } = asked.services;
  for (;;) {
    const checked = await days.check([fresh], id);
    const names = [...Object.keys(checked.documents), ...checked.gone];
    const answer = await command(asked, action, `${id}/${names.join("+")}`, async (tx) => {
      await before(tx, checked);
      const day = await days.put(tx, id, checked, author);
      if (day === false) throw STALE;
      return reply(day);
    }).catch((error: unknown) => {
      if (error === STALE) return undefined;
      throw error;
    });
    if (!answer) continue;
    tellDay(asked, id, names);
    return answer;
  }
}

const STALE = new Error("other documents changed since the check");

export function tellDay(asked: Asked, id: string, documents: readonly string[]): void {
  asked.services.events.publish(`day:${id}`, { documents, by: asked.actor.name });
}

/** Makes a job's timetable the one in force, with the happenings that it is sound for if there are such: `told` is the version of the happenings that those came from. */
export function putInForce(
  asked: Asked,
  id: string,
  taken: Taken,
  told: number | undefined,
  note: string,
): Promise<Reply> {
  const { days } = asked.services;
  return save(
    asked,
    id,
    "put-in-force",
    { taken },
    async (tx, { documents }) => {
      const day = await days.recordIn(tx, id);
      // Nothing that somebody wrote since is written over.
      if (documents.happenings !== undefined && told !== day.versions.happenings)
        throw new Problem("changed-meanwhile", "The happenings changed since the job was asked; ask again.");
      mustMatch(asked, tagOf(day, "timetable"));
    },
    (day) => ({ status: 200, json: day, headers: { ETag: tagOf(day, "timetable")! } }),
    { ...authorOf(asked), note },
  );
}
