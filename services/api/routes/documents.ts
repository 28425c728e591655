import { writeOrdersCsv } from "../../../schemas/csv.js";
import type { DocumentName } from "../../../schemas/index.js";
import type { RawInput } from "../../days/checker-thread.js";
import { OPTIONAL } from "../../days/day.js";
import { Problem } from "../../problem.js";
import { command } from "../command.js";
import { dayTag, documentTag, mustMatch, tagOf, unlessKnown } from "../conditional.js";
import type { Asked, Reply, Route } from "../route.js";
import { authorOf, NOTE, save, tellDay } from "../saving.js";
import { ref } from "../schemas.js";

function bodyDocument(asked: Asked, document: DocumentName): RawInput {
  const isCsv = asked.mediaType === "text/csv";
  if (isCsv && document !== "orders") throw new Problem("media-type", "Only orders can come as CSV.");
  return { document, text: asked.bytes, isCsv };
}

async function documentReply(asked: Asked, id: string, document: DocumentName, version: number): Promise<Reply> {
  const text = await asked.services.days.text(id, document, version);
  const headers = { ETag: documentTag(document, version) };
  if (document === "orders" && /^text\/csv\b/.test(asked.header("accept") ?? ""))
    return { status: 200, type: "text/csv", text: writeOrdersCsv(JSON.parse(text)), headers };
  return { status: 200, type: "application/json", text, headers };
}

export const documentRoutes: readonly Route[] = [
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
        const day = await asked.services.days.remove(tx, id, document, authorOf(asked));
        return { status: 200, json: day, headers: { ETag: dayTag(day) } };
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
