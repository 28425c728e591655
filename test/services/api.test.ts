import { existsSync, readdirSync } from "node:fs";
import { readFile } from "node:fs/promises";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Orders, Timetable } from "../../schemas/index.js";
import { draw } from "../../solver/index.js";
import { randomDay } from "../days/random-day.js";
import { build } from "../support/built.js";
import { loadLp } from "../support/lp.js";
import { readEvents, type ServerEvent, startServer, type TestServer } from "../support/server.js";
import { makeSmallDay } from "../support/small-day.js";

let server: TestServer;

beforeAll(async () => {
  build();
  server = await startServer();
}, 120_000);
afterAll(async () => {
  expect(await server.stop()).toBe(0);
});

interface Answer<T> {
  readonly status: number;
  readonly etag: string;
  readonly headers: Headers;
  readonly body: T;
}

// biome-ignore lint/suspicious/noExplicitAny: tests look into any answer
async function ask<T = any>(method: string, path: string, options: RequestInit = {}): Promise<Answer<T>> {
  const response = await fetch(server.url + path, { method, ...options });
  const text = await response.text();
  const isJson = /json/.test(response.headers.get("content-type") ?? "");
  return {
    status: response.status,
    etag: response.headers.get("etag") ?? "",
    headers: response.headers,
    body: (isJson ? JSON.parse(text) : text) as T,
  };
}

function json(value: unknown, headers: Record<string, string> = {}): RequestInit {
  return { body: JSON.stringify(value), headers: { "Content-Type": "application/json", ...headers } };
}

const ORDERS = "/api/days/ordinary-day/documents/orders";

describe("documents over HTTP", { timeout: 60_000 }, () => {
  it("has the demo days", async () => {
    const { body } = await ask("GET", "/api/days");
    expect(body.days.map((day: { id: string }) => day.id)).toEqual(["holiday-spike", "ordinary-day"]);
    expect(body.days[1].versions).toEqual({ network: 1, catalogue: 1, orders: 1, happenings: 1, settings: 1 });
  });

  it("gives a document with its ETag, as JSON and CSV, and 304 to whoever has it", async () => {
    const read = await ask<Orders>("GET", ORDERS);
    expect(read.body.lines).toHaveLength(84);
    expect(read.etag).toBe('"orders-1"');
    expect((await ask("GET", ORDERS, { headers: { "If-None-Match": read.etag } })).status).toBe(304);
    const csv = await ask<string>("GET", ORDERS, { headers: { Accept: "text/csv" } });
    expect(csv.headers.get("content-type")).toMatch(/^text\/csv/);
    expect(csv.body.split("\r\n")).toHaveLength(86);
  });

  it("changes a document only for whoever has the version that holds, and keeps the history", async () => {
    const { body: orders, etag } = await ask<Orders>("GET", ORDERS);
    const changed = { ...orders, lines: orders.lines.slice(1) };
    expect((await ask("PUT", ORDERS, json(changed))).status).toBe(428);
    expect((await ask("PUT", ORDERS, json(changed, { "If-Match": '"orders-99"' }))).status).toBe(412);
    const stored = await ask("PUT", `${ORDERS}?note=one%20less`, json(changed, { "If-Match": etag }));
    expect(stored).toMatchObject({ status: 200, etag: '"orders-2"' });
    const again = await ask("PUT", ORDERS, json(orders, { "If-Match": etag }));
    expect(again).toMatchObject({ status: 412, body: { type: "/problems/changed-meanwhile", current: '"orders-2"' } });
    const history = (await ask("GET", `${ORDERS}/history`)).body.versions;
    expect(history).toMatchObject([{ version: 2, note: "one less", by: "local" }, { version: 1 }]);
    expect((await ask<Orders>("GET", `${ORDERS}/history/1`)).body.lines).toHaveLength(84);
    const restored = await ask("POST", `${ORDERS}/history/1/restore`, { headers: { "If-Match": stored.etag } });
    expect(restored).toMatchObject({ status: 200, etag: '"orders-3"' });
    expect((await ask<Orders>("GET", ORDERS)).body).toEqual(orders);
    expect((await ask("GET", `${ORDERS}/history`)).body.versions[0]).toMatchObject({ version: 3, from: 1 });
  });

  it("takes orders as CSV, and says line and column of what is wrong with them", async () => {
    const csv = await readFile("services/demo/ordinary-day/orders.csv", "utf8");
    const headers = { "Content-Type": "text/csv", "If-Match": '"orders-3"' };
    const bad = await ask("PUT", ORDERS, { headers, body: csv.replace("plain-ring", "unicorn-ring") });
    expect(bad.status).toBe(422);
    expect(bad.headers.get("content-type")).toMatch(/^application\/problem\+json/);
    expect(bad.body.errors[0]).toMatchObject({
      code: "unknown-product",
      document: "orders",
      pointer: "/lines/0/product",
      line: 2,
      column: 2,
    });
    expect(await ask("PUT", ORDERS, { headers, body: csv })).toMatchObject({ status: 200, etag: '"orders-4"' });
  });

  it("changes several documents together, or none", async () => {
    const all = await ask<{ documents: Record<string, unknown> }>("GET", "/api/days/ordinary-day/documents");
    const made = await ask("PUT", "/api/days/copy", json(all.body.documents, { "If-None-Match": "*" }));
    expect(made).toMatchObject({ status: 201, etag: '"day-1"' });
    expect((await ask("PUT", "/api/days/copy", json(all.body.documents, { "If-None-Match": "*" }))).status).toBe(412);
    const { network, orders } = all.body.documents as { network: DayDocuments["network"]; orders: Orders };
    const renamed = JSON.parse(JSON.stringify({ network, orders }).replaceAll('"bridge"', '"quay"')) as object;
    const alone = await ask("PUT", "/api/days/copy/documents/orders", json(orders, { "If-Match": '"orders-1"' }));
    expect(alone.status).toBe(200);
    const tag = (await ask("GET", "/api/days/copy")).etag;
    const both = await ask("PUT", "/api/days/copy", json(renamed, { "If-Match": tag }));
    expect(both.body).toMatchObject({ versions: { network: 2, orders: 3, catalogue: 1 } });
    const broken = await ask(
      "PUT",
      "/api/days/copy",
      json({ ...renamed, settings: { format: "settings/1" } }, { "If-Match": both.etag }),
    );
    expect(broken.status).toBe(422);
    expect((await ask("GET", "/api/days/copy")).etag).toBe(both.etag);
    const deleted = await ask("DELETE", "/api/days/copy", { headers: { "If-Match": both.etag } });
    expect(deleted.status).toBe(204);
    expect((await ask("GET", "/api/days/copy")).status).toBe(404);
    const anew = await ask("PUT", "/api/days/copy", json(all.body.documents, { "If-None-Match": "*" }));
    expect(anew.body.versions.orders).toBe(4);
  });

  it("has the marks of a deleted day when that comes back, and not with another day of its id", async () => {
    const { inForce: _, ...raw } = randomDay(3, "tiny");
    const day = { ...raw, happenings: { format: "happenings/1" as const, happenings: [] } };
    const draws = { now: () => 0, lp: await loadLp(), iterations: 5 };
    const { timetable } = draw(day, { ...draws, seed: 1 });
    const whole = { ...day, timetable };
    const path = "/api/days/marked";
    const make = async (documents: object, query = ""): Promise<void> => {
      expect((await ask("PUT", `${path}${query}`, json(documents, { "If-None-Match": "*" }))).status).toBe(201);
    };
    const remove = async (): Promise<void> => {
      const { etag } = await ask("GET", path);
      expect((await ask("DELETE", path, { headers: { "If-Match": etag } })).status).toBe(204);
    };
    const [task] = timetable.tasks.filter(({ load }) => load !== undefined);
    const mark = async (): Promise<string> => {
      const { status, body } = await ask(
        "POST",
        `${path}/marks`,
        json({ task: task!.id, what: "started", at: task!.start }),
      );
      expect(status).toBe(201);
      return body.id;
    };
    const marks = async (query = ""): Promise<string[]> =>
      (await ask("GET", `${path}/marks${query}`)).body.marks.map(({ id }: { id: string }) => id);
    const told = async (): Promise<number> => (await ask("POST", `${path}/standing`)).body.happenings.happenings.length;
    await make(whole);
    const first = await mark();
    await remove();
    await make(whole, "?life=0");
    expect(await marks()).toEqual([first]);
    expect(await told()).toBeGreaterThan(0);
    await remove();
    await make(day);
    const put = await ask("PUT", path, json({ timetable }, { "If-Match": (await ask("GET", path)).etag }));
    expect(put.status).toBe(200);
    expect(await marks()).toEqual([]);
    expect(await told()).toBe(0);
    const second = await mark();
    expect(await marks()).toEqual([second]);
    expect(await marks(`?after=${second}`)).toEqual([]);
    // By the marks it has begun, so its route is still needed.
    const catalogue = structuredClone(day.catalogue) as { products: { routes: { id: string }[] }[] };
    for (const { routes } of catalogue.products) for (const route of routes) route.id += "-new";
    const other = await ask("PUT", `${path}/documents/catalogue`, json(catalogue, { "If-Match": '"catalogue-3"' }));
    expect(other.status, JSON.stringify(other.body)).toBe(200);
    expect((await ask("POST", `${path}/standing`)).body).toMatchObject({
      type: "/problems/bad-request",
      detail: expect.stringMatching(/Work has begun on .* by its route .* Put the route back/),
    });
  });

  it("takes the files of a day folder, all or none, and tells everything that is wrong with each", async () => {
    const names = ["network.json", "catalogue.json", "orders.csv", "settings.json"];
    const folder = Object.fromEntries(
      await Promise.all(
        names.map(async (name) => [name, await readFile(`services/demo/ordinary-day/${name}`, "utf8")]),
      ),
    ) as Record<string, string>;
    const put = (files: object, headers: Record<string, string> = { "If-None-Match": "*" }) =>
      ask("PUT", "/api/days/own/files", json(files, headers));
    const bad = await put({
      ...folder,
      "network.json": folder["network.json"]!.replace('"timeZone"', '"timeZome"'),
      "settings.json": folder["settings.json"]!.replace('"EUR",', '"EUR"'),
      "orders.csv": folder["orders.csv"]!.replace(",61,", ",many,"),
    });
    expect(bad.status).toBe(422);
    expect(bad.body.errors).toMatchObject([
      { document: "network", pointer: "/sites/0/timeZone", code: "missing-field" },
      { document: "network", pointer: "/sites/0/timeZome", code: "unknown-field" },
      { document: "orders", line: 2, column: 3, code: "csv-not-a-number" },
      { document: "settings", code: "not-json", line: expect.any(Number), column: expect.any(Number) },
    ]);
    // What one says of another, once each is in order by itself: in the place of the text.
    const other = await put({ ...folder, "orders.csv": folder["orders.csv"]!.replace("plain-ring", "no-ring") });
    expect(other.body.errors).toMatchObject([{ document: "orders", code: "unknown-product", line: 2, column: 2 }]);
    const { "settings.json": _, ...three } = folder;
    expect((await put({ ...three, "orders.json": "{}" })).body.errors).toMatchObject([
      { code: "orders-twice" },
      { code: "file-missing", document: "settings" },
    ]);
    for (const files of [{}, { "notes.txt": "" }, { ...folder, "network.json": null }, { "orders.csv": 7 }])
      expect(await put(files)).toMatchObject({ status: 400, body: { type: "/problems/bad-request" } });
    expect((await ask("GET", "/api/days/own")).status).toBe(404);

    expect(await put(folder, {})).toMatchObject({ status: 428 });
    const made = await put(folder);
    expect(made).toMatchObject({ status: 201, body: { versions: { network: 1, orders: 1, happenings: 1 } } });
    expect((await ask<Orders>("GET", "/api/days/own/documents/orders")).body.lines).toHaveLength(84);
    expect(await put(folder)).toMatchObject({ status: 412 });
    const some = await put({ "orders.csv": folder["orders.csv"] }, { "If-Match": made.etag });
    expect(some.body).toMatchObject({ versions: { network: 1, orders: 2, settings: 1 } });
    const gone = await put({ "happenings.json": null, "timetable-in-force.json": null }, { "If-Match": some.etag });
    expect(gone.body).toMatchObject({ versions: { happenings: 2, orders: 2 } });
  });

  it("does a command once under an idempotency key", async () => {
    const { body: settings, etag } = await ask("GET", "/api/days/copy/documents/settings");
    const request = json({ ...settings, name: "Renamed" }, { "If-Match": etag, "Idempotency-Key": "a key: ünïcode" });
    const first = await ask("PUT", "/api/days/copy/documents/settings", request);
    const second = await ask("PUT", "/api/days/copy/documents/settings", request);
    expect(first.status).toBe(200);
    expect(second.body).toEqual(first.body);
    expect(second.headers.get("idempotent-replay")).toBe("true");
    const other = json({ ...settings, name: "Another" }, { "If-Match": etag, "Idempotency-Key": "a key: ünïcode" });
    expect((await ask("PUT", "/api/days/copy/documents/settings", other)).body.type).toBe("/problems/key-used");
  });

  it.each([
    ["GET", "/api/days/none", 404],
    ["GET", "/api/days/No%20Day", 400],
    ["GET", "/api/nothing", 404],
    ["GET", "/api/days/ordinary-day/documents/timetable", 404],
    ["GET", "/api/days/ordinary-day/documents/recipes", 400],
    ["GET", "/api/days?colour=red", 400],
    ["GET", "/api/jobs?limit=0", 400],
    ["GET", "/api/days/%E0%A4%A", 400],
    ["PATCH", "/api/days/ordinary-day", 405],
    ["POST", "/api/days/none/draw", 404],
    ["GET", "/api/jobs/00000000000000000000000000", 404],
  ])("%s %s is %i with a problem document", async (method, path, status) => {
    const answer = await ask(method, path);
    expect(answer.status).toBe(status);
    expect(answer.headers.get("content-type")).toMatch(/^application\/problem\+json/);
    expect(answer.body).toMatchObject({
      status,
      type: expect.stringMatching(/^\/problems\//),
      title: expect.any(String),
    });
  });

  it("answers only to local names and pages", async () => {
    const { request } = await import("node:http");
    const status = (headers: Record<string, string>): Promise<number> =>
      new Promise((resolve, reject) => {
        const asked = request(`${server.url}/api/days`, { headers }, (response) => {
          response.resume();
          resolve(response.statusCode!);
        });
        asked.on("error", reject);
        asked.end();
      });
    expect(await status({ Host: "kitchen.example" })).toBe(403);
    expect(await status({ Origin: "http://kitchen.example" })).toBe(403);
    expect(await status({ Origin: server.url })).toBe(200);
    const { headers } = await ask("GET", "/api/days");
    expect(headers.get("content-security-policy")).toContain("default-src 'none'");
    expect(headers.get("x-content-type-options")).toBe("nosniff");
    expect(headers.get("x-powered-by")).toBeNull();
  });
});

describe("jobs over HTTP", { timeout: 60_000 }, () => {
  beforeAll(() => makeSmallDay(server.url));

  it("draws a day as a job, tells how it goes, and puts the timetable in force", async () => {
    const accepted = await ask("POST", "/api/days/small/draw", json({ seconds: 1.5 }));
    expect(accepted.status).toBe(202);
    expect(accepted.headers.get("location")).toBe(`/api/jobs/${accepted.body.id}`);
    const job = `/api/jobs/${accepted.body.id}`;
    expect((await ask("GET", `${job}/result`)).status).toBe(409);
    const events = await readEvents(`${server.url}${job}/events`);
    expect(events[0]).toMatchObject({ name: "job", data: { id: accepted.body.id } });
    expect(events.at(-1)).toMatchObject({
      name: "job",
      data: { state: "done", figures: { cost: expect.any(Number) } },
    });
    expect(events.some(({ name }) => name === "progress")).toBe(true);
    const result = await ask<{ timetable: Timetable; breaches: [] }>("GET", `${job}/result`);
    expect(result.body.breaches).toEqual([]);
    const verified = await ask("POST", "/api/days/small/verify", json({ timetable: result.body.timetable }));
    expect(verified).toMatchObject({ status: 200, body: { breaches: [] } });

    const inForce = await ask(
      "POST",
      "/api/days/small/in-force",
      json({ job: accepted.body.id }, { "If-None-Match": "*" }),
    );
    expect(inForce).toMatchObject({ status: 200, etag: '"timetable-1"' });
    const stored = await ask<Timetable>("GET", "/api/days/small/documents/timetable");
    expect(stored.body).toEqual(result.body.timetable);
    const broken = { ...stored.body, tasks: stored.body.tasks.slice(1) };
    const refused = await ask("PUT", "/api/days/small/documents/timetable", json(broken, { "If-Match": stored.etag }));
    expect(refused).toMatchObject({ status: 422, body: { type: "/problems/breaks-rules" } });
    expect((await ask("GET", "/api/days/small/documents/timetable")).etag).toBe(stored.etag);
    // Taken away and put back: what undoing the first drawing needs.
    const { etag } = await ask("GET", "/api/days/small");
    const without = await ask("PUT", "/api/days/small", json({ timetable: null }, { "If-Match": etag }));
    expect(without.body.versions.timetable).toBeUndefined();
    const back = await ask("PUT", "/api/days/small", json({ timetable: stored.body }, { "If-Match": without.etag }));
    expect(back.body.versions.timetable).toBe(2);
  });

  it("puts no timetable of another day in force, though it would be sound there", async () => {
    const { body } = await ask<{ documents: object }>("GET", "/api/days/small/documents");
    const { timetable: _, ...documents } = body.documents as Record<string, unknown>;
    expect((await ask("PUT", "/api/days/alike", json(documents, { "If-None-Match": "*" }))).status).toBe(201);
    const { body: job } = await ask("POST", "/api/days/small/draw", json({ seconds: 1 }));
    await readEvents(`${server.url}/api/jobs/${job.id}/events`);
    const refused = await ask("POST", "/api/days/alike/in-force", json({ job: job.id }, { "If-None-Match": "*" }));
    expect(refused).toMatchObject({ status: 400, body: { type: "/problems/bad-request" } });
    expect((await ask("GET", "/api/days/alike/documents/timetable")).status).toBe(404);
  });

  it("gives the same timetable for the same tries and seed, also for documents in the request", async () => {
    const { inForce: _, ...documents } = randomDay(12, "tiny");
    expect((await ask("PUT", "/api/days/tiny", json(documents, { "If-None-Match": "*" }))).status).toBe(201);
    const request = { iterations: 30, seed: 7 };
    const stored = await ask("POST", "/api/days/tiny/draw", json(request));
    const sent = await ask("POST", "/api/draw", json({ documents, request }));
    const results = await Promise.all(
      [stored, sent].map(async ({ body }) => {
        await readEvents(`${server.url}/api/jobs/${body.id}/events`);
        return (await ask<{ timetable: Timetable }>("GET", `/api/jobs/${body.id}/result`)).body.timetable;
      }),
    );
    expect(results[1]).toEqual(results[0]);
  });

  it("stops a job and keeps what it has; cancels another", async () => {
    const long = await ask("POST", "/api/days/small/draw", json({ seconds: 300 }));
    const job = `/api/jobs/${long.body.id}`;
    const isImproving = (event: ServerEvent): boolean => (event.data as { phase?: string }).phase === "improving";
    const so = await readEvents(`${server.url}${job}/events`, isImproving);
    expect(so.at(-1)!.data).toMatchObject({ cost: expect.any(Number), iterations: expect.any(Number) });
    const [shown] = (await readEvents(`${server.url}${job}/events`, ({ name }) => name === "timetable")).slice(-1);
    const sound = await ask("POST", "/api/days/small/verify", json({ timetable: shown!.data }));
    expect(sound.body).toEqual({ breaches: [] });
    expect((await ask("POST", `${job}/stop`)).status).toBe(202);
    const events = await readEvents(`${server.url}${job}/events`);
    expect(events.at(-1)!.data).toMatchObject({ state: "done", stopped: true, figures: { status: "cancelled" } });

    const other = await ask("POST", "/api/days/small/draw", json({ seconds: 300 }));
    expect((await ask("POST", `/api/jobs/${other.body.id}/cancel`)).status).toBe(202);
    const ended = await readEvents(`${server.url}/api/jobs/${other.body.id}/events`);
    expect(ended.at(-1)!.data).toMatchObject({ state: "cancelled" });
    expect((await ask("GET", `/api/jobs/${other.body.id}/result`)).status).toBe(410);
    expect((await ask("POST", `/api/jobs/${other.body.id}/cancel`)).body.type).toBe("/problems/job-over");
    const list = (await ask("GET", "/api/jobs?day=small&limit=2")).body.jobs;
    expect(list.map((one: { id: string }) => one.id)).toEqual([other.body.id, long.body.id]);
  });

  it("answers what cannot be answered for a day without a thread more each time", async () => {
    const threads = (): number | undefined => {
      const folder = `/proc/${server.child.pid}/task`;
      return existsSync(folder) ? readdirSync(folder).length : undefined;
    };
    const asked = (): Promise<Answer<unknown>> => ask("POST", "/api/days/holiday-spike/replay", json({}));
    // Without a timetable in force there is nothing to play.
    expect((await asked()).status).toBe(400);
    const before = threads();
    for (let i = 0; i < 20; i++) expect((await asked()).status).toBe(400);
    if (before !== undefined) expect(threads()).toBeLessThan(before + 10);
  });

  it("refuses requests that do not have the right form, before a job is made", async () => {
    for (const [body, pointer] of [
      [{ seconds: -1 }, "/seconds"],
      [{ second: 1 }, ""],
      [{ seconds: "5" }, "/seconds"],
      [[], ""],
    ] as const) {
      const refused = await ask("POST", "/api/days/small/draw", json(body));
      expect(refused.status).toBe(400);
      expect(refused.body.errors[0].pointer).toBe(pointer);
    }
    const text = await ask("POST", "/api/days/small/draw", {
      body: "{",
      headers: { "Content-Type": "application/json" },
    });
    expect(text.body.type).toBe("/problems/not-json");
    const form = await ask("POST", "/api/days/small/draw", {
      body: "a=1",
      headers: { "Content-Type": "text/plain" },
    });
    expect(form.status).toBe(415);
  });
});
