import type { RawInput } from "../days/checker-thread.js";
import type { DayRecord } from "../days/day.js";
import type { Author } from "../days/days.js";
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
  before: (tx: Transaction) => Promise<void>,
  reply: (day: DayRecord) => Reply,
  author: Author = authorOf(asked),
): Promise<Reply> {
  const { days } = asked.services;
  for (;;) {
    const checked = await days.check([fresh], id);
    const names = Object.keys(checked.documents);
    const answer = await command(asked, action, `${id}/${names.join("+")}`, async (tx) => {
      await before(tx);
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

/** Makes a timetable the one in force, with the happenings that it is sound for if there are such. */
export function putInForce(asked: Asked, id: string, bundle: string, note: string): Promise<Reply> {
  const { days } = asked.services;
  return save(
    asked,
    id,
    "put-in-force",
    { bundle },
    async (tx) => mustMatch(asked, tagOf(await days.recordIn(tx, id), "timetable")),
    (day) => ({ status: 200, json: day, headers: { ETag: tagOf(day, "timetable")! } }),
    { ...authorOf(asked), note },
  );
}
