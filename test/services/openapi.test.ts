import { Validator } from "@seriousme/openapi-schema-validator";
import { Ajv2020, type ValidateFunction } from "ajv/dist/2020.js";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { build } from "../support/built.js";
import { readEvents, startServer, type TestServer } from "../support/server.js";
import { withFewLines } from "../support/small-day.js";

/**
 * Drives the running server from its own OpenAPI document: every operation is called, and whatever comes back must be what the document says, fields
 * that it does not mention included.
 */
interface Media {
  readonly schema: Record<string, unknown>;
}
interface Operation {
  readonly operationId: string;
  readonly parameters: { name: string; in: string; required: boolean; schema: Record<string, unknown> }[];
  readonly requestBody?: { content: Record<string, Media>; required: boolean };
  readonly responses: Record<string, { content?: Record<string, Media>; headers?: Record<string, unknown> }>;
}
interface Document {
  readonly openapi: string;
  readonly paths: Record<string, Record<string, Operation>>;
  readonly components: { schemas: Record<string, Record<string, unknown>> };
}

let server: TestServer;
let api: Document;
const operations = new Map<string, { path: string; method: string; operation: Operation }>();
const called = new Set<string>();

/** In answers nothing may be there that is not written down. */
function closed(schema: unknown): unknown {
  if (Array.isArray(schema)) return schema.map(closed);
  if (typeof schema !== "object" || schema === null) return schema;
  const entries = Object.entries(schema).map(([key, value]) => [
    key,
    key === "const" || key === "enum" ? value : closed(value),
  ]);
  const copy = Object.fromEntries(entries) as Record<string, unknown>;
  const isOpen = copy.type === "object" && copy.properties !== undefined && copy.additionalProperties === undefined;
  return isOpen && copy.oneOf === undefined ? { ...copy, additionalProperties: false } : copy;
}

const ajv = new Ajv2020({ strict: false, discriminator: true, formats: { "date-time": true } });

beforeAll(async () => {
  build();
  server = await startServer();
  api = (await (await fetch(`${server.url}/api/openapi.json`)).json()) as Document;
  ajv.addSchema({ $id: "api", components: closed(api.components) });
  for (const [path, methods] of Object.entries(api.paths))
    for (const [method, operation] of Object.entries(methods))
      operations.set(operation.operationId, { path, method: method.toUpperCase(), operation });
}, 180_000);
afterAll(async () => {
  await server.stop();
});

function validatorOf(schema: object): ValidateFunction {
  const local = JSON.parse(JSON.stringify(closed(schema)).replaceAll('"#/components/', '"api#/components/'));
  return ajv.compile(local);
}

interface Call {
  readonly path?: Record<string, string>;
  readonly query?: Record<string, string>;
  readonly body?: unknown;
  readonly text?: string;
  readonly type?: string;
  readonly headers?: Record<string, string>;
  readonly expect?: number;
}

interface Called {
  readonly status: number;
  // biome-ignore lint/suspicious/noExplicitAny: answers of any form
  readonly body: any;
  readonly etag: string;
}

async function call(id: string, { path = {}, query = {}, ...rest }: Call = {}): Promise<Called> {
  const { path: template, method, operation } = operations.get(id)!;
  const address = template.replaceAll(/\{(\w+)\}/g, (_, name: string) => path[name]!);
  const type = rest.type ?? (rest.body !== undefined || rest.text !== undefined ? "application/json" : undefined);
  if (type !== undefined) expect(Object.keys(operation.requestBody!.content), id).toContain(type);
  const response = await fetch(`${server.url}${address}?${new URLSearchParams(query)}`, {
    method,
    headers: { ...(type === undefined ? {} : { "Content-Type": type }), ...rest.headers },
    ...(rest.body === undefined && rest.text === undefined ? {} : { body: rest.text ?? JSON.stringify(rest.body) }),
  });
  const text = await response.text();
  const told = operation.responses[String(response.status)];
  const media = (response.headers.get("content-type") ?? "").split(";")[0]!;
  const body: unknown = /json$/.test(media) ? JSON.parse(text) : text;
  if (rest.expect !== undefined) expect(response.status, `${id}: ${text.slice(0, 300)}`).toBe(rest.expect);
  if (response.status >= 400) {
    expect(media, id).toBe("application/problem+json");
    const valid = validatorOf({ $ref: "#/components/schemas/Problem" });
    // Problems of one kind may say more (RFC 9457, 3.2).
    expect(
      valid({ ...(body as object), current: undefined, job: undefined }) ||
        valid.errors?.[0]?.keyword === "additionalProperties",
      `${id} ${text}`,
    ).toBe(true);
  } else if (response.status !== 304) {
    called.add(id);
    expect(told, `${id} answers ${response.status}, which is not written down`).toBeDefined();
    const schema = told!.content?.[media]?.schema;
    if (text !== "") expect(schema, `${id}: ${media} is not written down`).toBeDefined();
    for (const name of Object.keys(told!.headers ?? {}))
      expect(response.headers.get(name), `${id}: ${name}`).not.toBeNull();
    if (schema && /json$/.test(media)) {
      const valid = validatorOf(schema);
      expect(valid(body), `${id}: ${JSON.stringify(valid.errors?.slice(0, 3))}`).toBe(true);
    }
  }
  return { status: response.status, body, etag: response.headers.get("etag") ?? "" };
}

/** A long operation to its end; its result must be what the document says. */
async function finished(
  name: string,
  path: Record<string, string>,
  body: object,
): Promise<{ id: string; result: Record<string, unknown> }> {
  const { body: job } = await call(`${name}Day`, { path, body, expect: 202 });
  await readEvents(`${server.url}/api/jobs/${job.id}/events`);
  const { body: result } = await call("readResult", { path: { job: job.id }, expect: 200 });
  const valid = validatorOf({
    $ref: `#/components/schemas/${name.replace(/^./, (letter) => letter.toUpperCase())}Result`,
  });
  expect(valid(result), `${name}: ${JSON.stringify(valid.errors?.slice(0, 3))}`).toBe(true);
  return { id: job.id, result };
}

describe("the OpenAPI document", { timeout: 120_000 }, () => {
  it("is valid OpenAPI 3.1, by an independent validator", async () => {
    const result = await new Validator().validate(structuredClone(api) as unknown as Record<string, unknown>);
    expect(result).toMatchObject({ valid: true });
    expect(api.openapi).toBe("3.1.0");
  });

  it("is what the server does, for every operation", async () => {
    const day = { day: "ordinary-day" };
    for (const id of [
      "readService",
      "readLive",
      "readReady",
      "readMetrics",
      "readOpenApi",
      "readDocs",
      "readDocsStyle",
    ])
      await call(id, { expect: 200 });
    await call("readProblem", { path: { problem: "not-found" }, expect: 200 });
    await call("listDays", { expect: 200 });
    await call("readDay", { path: day, expect: 200 });
    const { body: whole } = await call("readDocuments", { path: day, expect: 200 });
    const all = { documents: withFewLines(whole.documents) };
    const copy = { day: "copy" };
    const made = await call("makeDay", {
      path: copy,
      body: all.documents,
      headers: { "If-None-Match": "*" },
      expect: 201,
    });
    const { settings } = all.documents;
    const changed = { settings: { ...settings, name: "Changed" } };
    await call("makeDay", { path: copy, body: changed, headers: { "If-Match": made.etag }, expect: 200 });
    const files = { path: copy, body: { "settings.json": JSON.stringify(settings), "happenings.json": null } };
    await call("takeFiles", { ...files, headers: { "If-Match": "*" }, expect: 200 });
    for (const document of ["network", "catalogue", "orders", "happenings", "settings"])
      await call("readDocument", { path: { ...copy, document }, expect: 200 });
    const orders = { ...copy, document: "orders" };
    const csv = await call("readDocument", { path: orders, headers: { Accept: "text/csv" }, expect: 200 });
    await call("writeDocument", {
      path: orders,
      text: csv.body,
      type: "text/csv",
      headers: { "If-Match": csv.etag },
      expect: 200,
    });
    await call("readHistory", { path: orders, query: { limit: "1" }, expect: 200 });
    await call("readVersion", { path: { ...orders, version: "1" }, expect: 200 });
    await call("restoreVersion", {
      path: { ...orders, version: "1" },
      headers: { "If-Match": '"orders-2"' },
      expect: 200,
    });

    const { body: job } = await call("drawDay", { path: copy, body: { seconds: 0.5 }, expect: 202 });
    await readEvents(`${server.url}/api/jobs/${job.id}/events`);
    called.add("followJob").add("followDay");
    const path = { job: job.id };
    await call("readJob", { path, expect: 200 });
    const { body: result } = await call("readResult", { path, expect: 200 });
    const isDrawn = validatorOf({ $ref: "#/components/schemas/DrawResult" });
    expect(isDrawn(result), JSON.stringify(isDrawn.errors?.slice(0, 3))).toBe(true);
    const drawn = validatorOf(operations.get("verifyDay")!.operation.requestBody!.content["application/json"]!.schema);
    expect(drawn({ timetable: result.timetable }), JSON.stringify(drawn.errors)).toBe(true);
    await call("listJobs", { query: { day: "copy" }, expect: 200 });
    await call("verifyDay", { path: copy, body: { timetable: result.timetable }, expect: 200 });
    await call("verifyDocuments", {
      body: { documents: all.documents, request: { timetable: result.timetable } },
      expect: 200,
    });
    await call("takeResult", { path: copy, body: { job: job.id }, headers: { "If-None-Match": "*" }, expect: 200 });
    // Something happens: what the timetable in force is worth, what it becomes, and the planner's own wish.
    const timetable = { ...copy, document: "timetable" };
    const happenings = { ...copy, document: "happenings" };
    const oven = result.timetable.tasks.find((one: { does: string }) => one.does === "bake");
    const told = {
      format: "happenings/1",
      at: oven.start,
      happenings: [{ kind: "out-of-service", unit: oven.unit, from: oven.start }],
    };
    await call("writeDocument", { path: happenings, body: told, headers: { "If-Match": "*" }, expect: 200 });
    await call("driftDay", { path: copy, expect: 200 });
    await call("replayDay", { path: copy, body: { runs: 5 }, expect: 200 });
    const repaired = await finished("repair", copy, { iterations: 5 });
    expect(repaired.result.changes).toBeDefined();
    const before = await call("readDocument", { path: timetable, expect: 200 });
    await call("takeResult", {
      path: copy,
      body: { job: repaired.id },
      headers: { "If-Match": before.etag },
      expect: 200,
    });
    const shape = result.timetable.tasks.find(
      (one: { does: string; start: string }) => one.does === "shape" && one.start > oven.start,
    );
    await finished("hold", copy, { iterations: 5, tasks: [{ task: shape.id, start: shape.start }] });

    const page = await call("readSheets", { path: copy, query: { kind: "mix" }, expect: 200 });
    expect(page.body).toContain("<!doctype html>");
    await call("sheetsDay", { path: copy, body: { sites: ["weir-yard"] }, expect: 200 });
    const calendars = await call("calendarDay", { path: copy, expect: 200 });
    const who = calendars.body.calendars[0].who;
    const feed = await call("readCalendar", { path: copy, query: { who, alarm: "5" }, expect: 200 });
    expect(feed.body).toMatch(/^BEGIN:VCALENDAR\r\n/);
    await call("readCalendar", { path: copy, query: { who: "nobody" }, expect: 404 });

    const { body: now } = await call("readDocument", { path: timetable, expect: 200 });
    const task = now.tasks[0].id;
    await call("markTask", { path: copy, body: { task, what: "started", at: "2026-11-27T01:00:00Z" }, expect: 201 });
    await call("listMarks", { path: copy, expect: 200 });
    const removed = await call("readDocument", { path: { ...copy, document: "timetable" }, expect: 200 });
    await call("removeDocument", {
      path: { ...copy, document: "timetable" },
      headers: { "If-Match": removed.etag },
      expect: 200,
    });
    for (const [id, end] of [
      ["drawDocuments", "stopJob"],
      ["drawDocuments", "cancelJob"],
    ] as const) {
      const sent = await call(id, { body: { documents: all.documents, request: { seconds: 60 } }, expect: 202 });
      await call(end, { path: { job: sent.body.id }, expect: 202 });
      await readEvents(`${server.url}/api/jobs/${sent.body.id}/events`);
    }
    const token = await call("makeToken", { body: { name: "someone", role: "viewer" }, expect: 201 });
    const { id } = token.body.record;
    await call("listTokens", { expect: 200 });
    const rotated = await call("rotateToken", { path: { token: id }, expect: 200 });
    await call("signIn", { body: { token: rotated.body.token }, expect: 204 });
    await call("signOut", { expect: 204 });
    await call("endToken", { path: { token: id }, expect: 204 });
    await call("readAudit", { expect: 200 });
    const { etag } = await call("readDay", { path: copy });
    await call("deleteDay", { path: copy, headers: { "If-Match": etag }, expect: 204 });
    // Operations that were added since: each is asked in its plainest form, and may refuse.
    for (const [name, { path: template, operation }] of operations) {
      if (called.has(name)) continue;
      const job = await call(name, {
        path: day,
        ...(operation.requestBody ? { body: template.includes("{day}") ? {} : { documents: all.documents } } : {}),
      });
      called.add(name);
      if (job.status === 202) await call("cancelJob", { path: { job: job.body.id } });
    }
    expect([...operations.keys()].filter((name) => !called.has(name))).toEqual([]);
  });

  it("has each thing that the server refuses", async () => {
    await call("readDay", { path: { day: "none" }, expect: 404 });
    await call("readDay", { path: { day: "No" }, expect: 400 });
    await call("drawDay", { path: { day: "ordinary-day" }, body: { seconds: -1 }, expect: 400 });
    await call("writeDocument", { path: { day: "ordinary-day", document: "orders" }, body: {}, expect: 428 });
    const stale = { headers: { "If-Match": '"orders-77"' }, expect: 412 };
    await call("writeDocument", { path: { day: "ordinary-day", document: "orders" }, body: {}, ...stale });
    const bad = { headers: { "If-Match": "*" }, expect: 422 };
    await call("writeDocument", { path: { day: "ordinary-day", document: "orders" }, body: {}, ...bad });
  });
});
