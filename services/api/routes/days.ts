import { writeOrdersCsv } from "../../../schemas/csv.js";
import type { DocumentName } from "../../../schemas/index.js";
import type { RawInput } from "../../days/checker-thread.js";
import { type DayRecord, DOCUMENTS, OPTIONAL } from "../../days/day.js";
import type { Author } from "../../days/days.js";
import { Problem } from "../../problem.js";
import type { Transaction } from "../../store/transact.js";
import { command } from "../command.js";
import type { Asked, Reply, Route } from "../route.js";
import { ref } from "../schemas.js";

const NOTE = { note: { type: "string", maxLength: 200, description: "Why; kept in the history." } };

export function authorOf(asked: Asked): Author {
  const note = asked.query.note as string | undefined;
  return { by: asked.actor.name, at: asked.at, ...(note === undefined ? {} : { note }) };
}

export function dayTag(day: DayRecord): string {
  return `"day-${day.change}"`;
}

function documentTag(document: string, version: number): string {
  return `"${document}-${version}"`;
}

function dayReply(status: number, day: DayRecord): Reply {
  return { status, json: day, headers: { ETag: dayTag(day) } };
}

/** Tags of an If-Match or If-None-Match header; "*" alone stands for anything. */
function tags(header: string): string[] {
  return header.split(",").map((tag) => tag.trim().replace(/^W\//, ""));
}

function mustMatch(asked: Asked, current: string | undefined): void {
  const header = asked.header("if-match");
  const none = asked.header("if-none-match");
  if (none === "*" && header === undefined) {
    if (current === undefined) return;
    throw new Problem("changed-meanwhile", "It is there already; send If-Match with its ETag to change it.", {
      current,
    });
  }
  if (header === undefined)
    throw new Problem(
      "version-needed",
      current === undefined
        ? "Send If-None-Match: * to make it."
        : "Send If-Match with the ETag of what you change, so that nobody's work is lost.",
      current === undefined ? {} : { current },
    );
  if (current !== undefined && (header.trim() === "*" || tags(header).includes(current))) return;
  throw new Problem("changed-meanwhile", "Somebody changed it since you read it; read it again.", {
    ...(current === undefined ? {} : { current }),
  });
}

/** 304 when the asker has this already. */
function unlessKnown(asked: Asked, tag: string, reply: () => Reply | Promise<Reply>): Reply | Promise<Reply> {
  const header = asked.header("if-none-match");
  if (header !== undefined && (header.trim() === "*" || tags(header).includes(tag)))
    return { status: 304, headers: { ETag: tag } };
  return reply();
}

function bodyDocument(asked: Asked, document: DocumentName): RawInput {
  const isCsv = asked.mediaType === "text/csv";
  if (isCsv && document !== "orders") throw new Problem("media-type", "Only orders can come as CSV.");
  return { document, text: asked.text, isCsv };
}

/** Checks outside the commit, and again when the day's other documents changed meanwhile. */
async function save(
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

function tellDay(asked: Asked, id: string, documents: readonly string[]): void {
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
      "The body holds documents by name. With If-None-Match: * a new day is made and needs all but the timetable; with If-Match and the day's ETag its documents are changed together. All are checked, each and against each other; nothing is stored unless all are in order.",
    role: "planner",
    query: NOTE,
    body: { kind: "text", types: { "application/json": ref("Documents") } },
    answers: {
      200: { description: "Changed.", schema: ref("Day"), headers: { ETag: "The day's." } },
      201: { description: "Made.", schema: ref("Day"), headers: { ETag: "The day's." } },
    },
    handle: async (asked) => {
      const id = asked.params.day!;
      const { days } = asked.services;
      const fresh: RawInput = { bundle: asked.text };
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
        return dayReply(201, await days.create(tx, id, checked, authorOf(asked)));
      });
      tellDay(asked, id, DOCUMENTS);
      return reply;
    },
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
  {
    id: "readDocuments",
    method: "GET",
    path: "/api/days/{day}/documents",
    tag: "Documents",
    summary: "All documents of a day together",
    role: "viewer",
    answers: {
      200: {
        description: "The day's record and its documents, all of the same moment.",
        headers: { ETag: "Of the whole day." },
        schema: {
          type: "object",
          required: ["day", "documents"],
          properties: { day: ref("Day"), documents: ref("Documents") },
        },
      },
    },
    handle: async (asked) => {
      const day = await asked.services.days.record(asked.params.day!);
      return unlessKnown(asked, dayTag(day), async () => {
        const texts = await asked.services.days.texts(day.id, day.versions);
        const documents = Object.entries(texts).map(([name, text]) => `${JSON.stringify(name)}:${text}`);
        return {
          status: 200,
          type: "application/json",
          text: `{"day":${JSON.stringify(day)},"documents":{${documents.join(",")}}}`,
          headers: { ETag: dayTag(day) },
        };
      });
    },
  },
  {
    id: "readDocument",
    method: "GET",
    path: "/api/days/{day}/documents/{document}",
    tag: "Documents",
    summary: "One document as it holds now",
    about: "Orders also as CSV: Accept: text/csv.",
    role: "viewer",
    answers: {
      200: {
        description: "The document.",
        headers: { ETag: "Of this version." },
        types: { "application/json": { type: "object" }, "text/csv": { type: "string" } },
      },
    },
    handle: async (asked) => {
      const { day: id, document } = asked.params as { day: string; document: DocumentName };
      const version = (await asked.services.days.record(id)).versions[document];
      if (version === undefined) throw new Problem("not-found", `${id} has no ${document}.`);
      return unlessKnown(asked, documentTag(document, version), () => documentReply(asked, id, document, version));
    },
  },
  {
    id: "writeDocument",
    method: "PUT",
    path: "/api/days/{day}/documents/{document}",
    tag: "Documents",
    summary: "Change one document",
    about:
      "Needs If-Match with the ETag of the version that was changed; the timetable in force may be new (If-None-Match: *). It is checked with the day's other documents, and a timetable also by the verifier. Orders also as CSV (Content-Type: text/csv).",
    role: "planner",
    query: NOTE,
    headers: { "If-Match": "The document's ETag." },
    body: { kind: "text", types: { "application/json": { type: "object" }, "text/csv": { type: "string" } } },
    answers: {
      200: { description: "Stored.", schema: ref("Day"), headers: { ETag: "Of the document's new version." } },
    },
    handle: async (asked) => {
      const { day: id, document } = asked.params as { day: string; document: DocumentName };
      const fresh = bodyDocument(asked, document);
      // Cheap refusals before the dear check.
      mustMatch(asked, tagOf(await asked.services.days.record(id), document));
      return save(
        asked,
        id,
        "write-document",
        fresh,
        async (tx) => mustMatch(asked, tagOf(await asked.services.days.recordIn(tx, id), document)),
        (day) => ({ status: 200, json: day, headers: { ETag: tagOf(day, document)! } }),
      );
    },
  },
  {
    id: "removeDocument",
    method: "DELETE",
    path: "/api/days/{day}/documents/{document}",
    tag: "Documents",
    summary: "Take the timetable in force away",
    role: "planner",
    headers: { "If-Match": "The document's ETag." },
    answers: { 200: { description: "Taken away; its versions stay in the history.", schema: ref("Day") } },
    handle: async (asked) => {
      const { day: id, document } = asked.params as { day: string; document: DocumentName };
      if (!OPTIONAL.includes(document))
        throw new Problem("not-allowed", `Every day has ${document}; change it instead.`);
      const reply = await command(asked, "remove-document", `${id}/${document}`, async (tx) => {
        mustMatch(asked, tagOf(await asked.services.days.recordIn(tx, id), document));
        return dayReply(200, await asked.services.days.remove(tx, id, document, authorOf(asked)));
      });
      tellDay(asked, id, [document]);
      return reply;
    },
  },
  {
    id: "readHistory",
    method: "GET",
    path: "/api/days/{day}/documents/{document}/history",
    tag: "Documents",
    summary: "A document's versions, the newest first",
    role: "viewer",
    query: {
      before: { type: "integer", minimum: 1, description: "Only versions below this one." },
      limit: { type: "integer", minimum: 1, maximum: 500, default: 100 },
    },
    answers: {
      200: {
        description: "Who changed it, when and why.",
        schema: {
          type: "object",
          required: ["versions"],
          properties: { versions: { type: "array", items: ref("Version") } },
        },
      },
    },
    handle: async ({ services, params, query }) => {
      const { day, document } = params as { day: string; document: DocumentName };
      const { before, limit } = query as { before?: number; limit?: number };
      return { status: 200, json: { versions: await services.days.history(day, document, before, limit) } };
    },
  },
  {
    id: "readVersion",
    method: "GET",
    path: "/api/days/{day}/documents/{document}/history/{version}",
    tag: "Documents",
    summary: "A document as it was",
    role: "viewer",
    answers: {
      200: {
        description: "That version.",
        types: { "application/json": { type: "object" }, "text/csv": { type: "string" } },
      },
    },
    handle: async (asked) => {
      const { day: id, document, version } = asked.params as { day: string; document: DocumentName; version: string };
      await asked.services.days.record(id);
      return documentReply(asked, id, document, Number(version));
    },
  },
  {
    id: "restoreVersion",
    method: "POST",
    path: "/api/days/{day}/documents/{document}/history/{version}/restore",
    tag: "Documents",
    summary: "Make an old version the newest",
    role: "planner",
    query: NOTE,
    headers: { "If-Match": "The document's ETag." },
    answers: {
      200: { description: "Stored as a new version.", schema: ref("Day"), headers: { ETag: "Of the new version." } },
    },
    handle: async (asked) => {
      const { day: id, document, version } = asked.params as { day: string; document: DocumentName; version: string };
      const text = await asked.services.days.text(id, document, Number(version));
      return save(
        asked,
        id,
        `restore-${version}`,
        { document, text, isCsv: false },
        async (tx) => {
          const day = await asked.services.days.recordIn(tx, id);
          const tag = tagOf(day, document);
          if (tag !== undefined || asked.header("if-match") !== undefined) mustMatch(asked, tag);
        },
        (day) => ({ status: 200, json: day, headers: { ETag: tagOf(day, document)! } }),
        { ...authorOf(asked), from: Number(version) },
      );
    },
  },
];

function tagOf(day: DayRecord, document: DocumentName): string | undefined {
  const version = day.versions[document];
  return version === undefined ? undefined : documentTag(document, version);
}

async function documentReply(asked: Asked, id: string, document: DocumentName, version: number): Promise<Reply> {
  const text = await asked.services.days.text(id, document, version);
  const headers = { ETag: documentTag(document, version) };
  if (document === "orders" && /^text\/csv\b/.test(asked.header("accept") ?? ""))
    return { status: 200, type: "text/csv", text: writeOrdersCsv(JSON.parse(text)), headers };
  return { status: 200, type: "application/json", text, headers };
}
