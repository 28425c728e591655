import type { RawInput } from "../../days/checker-thread.js";
import { type DayRecord, DOCUMENTS } from "../../days/day.js";
import { command } from "../command.js";
import { dayTag, mustMatch, unlessKnown } from "../conditional.js";
import type { Asked, Reply, Route } from "../route.js";
import { authorOf, NOTE, save, tellDay } from "../saving.js";
import { ref } from "../schemas.js";

function dayReply(status: number, day: DayRecord): Reply {
  return { status, json: day, headers: { ETag: dayTag(day) } };
}

/** Makes a day or changes it: everything that came, or nothing. */
async function makeOrChange(asked: Asked, fresh: RawInput): Promise<Reply> {
  const id = asked.params.day!;
  const { days } = asked.services;
  if (asked.header("if-match") !== undefined) {
    return save(
      asked,
      id,
      "change-day",
      fresh,
      async (tx) => mustMatch(asked, dayTag(await days.recordIn(tx, id))),
      (day) => dayReply(200, day),
    );
  }
  const checked = await days.check([fresh]);
  const reply = await command(asked, "make-day", id, async (tx) => {
    const existing = await days.findIn(tx, id);
    mustMatch(asked, existing && dayTag(existing));
    const { life } = asked.query as { life?: number };
    return dayReply(201, await days.create(tx, id, checked, authorOf(asked), life));
  });
  tellDay(asked, id, DOCUMENTS);
  return reply;
}

const LIFE = {
  life: {
    type: "integer",
    minimum: 0,
    description:
      "With If-None-Match: * the `life` of the deleted day that is brought back (0 when it had none): what its stations marked counts again.",
  },
} as const;

const MADE: Route["answers"] = {
  200: { description: "Changed.", schema: ref("Day"), headers: { ETag: "The day's." } },
  201: { description: "Made.", schema: ref("Day"), headers: { ETag: "The day's." } },
};

export const dayRoutes: readonly Route[] = [
  {
    id: "listDays",
    method: "GET",
    path: "/api/days",
    tag: "Days",
    summary: "All days",
    role: "viewer",
    answers: {
      200: {
        description: "By id.",
        schema: { type: "object", required: ["days"], properties: { days: { type: "array", items: ref("Day") } } },
      },
    },
    handle: async ({ services }) => ({ status: 200, json: { days: await services.days.list() } }),
  },
  {
    id: "makeDay",
    method: "PUT",
    path: "/api/days/{day}",
    tag: "Days",
    summary: "Make a day, or change several of its documents at once",
    about:
      "The body holds documents by name. With If-None-Match: * a new day is made and needs all but the timetable; with If-Match and the day's ETag its documents are changed together. All are checked, each and against each other; nothing is stored unless all are in order. A timetable that is null takes the one in force away. Under the id of a deleted day another day is made, without that one's marks; with `life` the deleted one is brought back.",
    role: "planner",
    query: { ...NOTE, ...LIFE },
    body: { kind: "text", types: { "application/json": ref("DayChanges") } },
    answers: MADE,
    handle: (asked) => makeOrChange(asked, { bundle: asked.bytes }),
  },
  {
    id: "takeFiles",
    method: "PUT",
    path: "/api/days/{day}/files",
    tag: "Days",
    summary: "Make a day from the files of its folder, or change it by some of them",
    about:
      "The body holds the texts of files by the names that they have in a day folder, orders as CSV or JSON. They are read and checked together as for PUT of the day, whose headers it takes; what is wrong is told with the document and the JSON pointer, or the line and column of the text. Nothing is stored unless everything is in order.",
    role: "planner",
    query: NOTE,
    body: { kind: "text", types: { "application/json": ref("DayFiles") } },
    answers: MADE,
    handle: (asked) => makeOrChange(asked, { files: asked.bytes }),
  },
  {
    id: "readDay",
    method: "GET",
    path: "/api/days/{day}",
    tag: "Days",
    summary: "A day and the versions of its documents",
    role: "viewer",
    answers: { 200: { description: "The day.", schema: ref("Day"), headers: { ETag: "Of the whole day." } } },
    handle: async (asked) => {
      const day = await asked.services.days.record(asked.params.day!);
      return unlessKnown(asked, dayTag(day), () => dayReply(200, day));
    },
  },
  {
    id: "deleteDay",
    method: "DELETE",
    path: "/api/days/{day}",
    tag: "Days",
    summary: "Delete a day",
    about: "Its documents' history is kept in the store; the id can be used again.",
    role: "planner",
    headers: { "If-Match": "The day's ETag." },
    answers: { 204: { description: "Deleted." } },
    handle: async (asked) => {
      const id = asked.params.day!;
      const reply = await command(asked, "delete-day", id, async (tx) => {
        mustMatch(asked, dayTag(await asked.services.days.recordIn(tx, id)));
        await asked.services.days.delete(tx, id, authorOf(asked));
        return { status: 204 };
      });
      tellDay(asked, id, DOCUMENTS);
      return reply;
    },
  },
];
