import { execFile } from "node:child_process";
import { once } from "node:events";
import { mkdtemp, rm } from "node:fs/promises";
import { connect, type Socket } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { promisify } from "node:util";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Timetable } from "../../schemas/index.js";
import { build } from "../support/built.js";
import { readEvents, startServer, type TestServer } from "../support/server.js";
import { makeSmallDay } from "../support/small-day.js";

const run = promisify(execFile);
let dataFolder: string;
let server: TestServer;
const tokens: Record<string, string> = {};

async function make(name: string, ...options: string[]): Promise<void> {
  const { stdout } = await run("node", ["dist/services/cli/main.js", "token", "make", name, ...options], {
    env: { ...process.env, DECKSHELF_DATA: dataFolder },
  });
  tokens[name] = stdout.trim();
}

function ask(
  who: string | undefined,
  method: string,
  path: string,
  body?: unknown,
  headers: object = {},
): Promise<Response> {
  return fetch(server.url + path, {
    method,
    headers: {
      ...(who === undefined ? {} : { Authorization: `Bearer ${tokens[who] ?? who}` }),
      ...(body === undefined ? {} : { "Content-Type": "application/json" }),
      ...headers,
    },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
  });
}

beforeAll(async () => {
  build();
  dataFolder = await mkdtemp(join(tmpdir(), "deckshelf-access-"));
  server = await startServer({ dataFolder, env: { DECKSHELF_LOGIN: "on", DECKSHELF_IDLE: "on" } });
  await make("boss", "--role", "owner");
  await make("office", "--role", "planner");
  await make("bench", "--role", "station", "--site", "bridge-shop");
  await make("shop", "--role", "viewer");
}, 180_000);
afterAll(async () => {
  await server.stop();
  await rm(dataFolder, { recursive: true, force: true });
});

describe("tokens and roles", { timeout: 60_000 }, () => {
  it("lets nobody in without a token, and says how", async () => {
    for (const path of ["/api/days", "/api/jobs", "/metrics", "/api/days/ordinary-day/events", "/api/audit"]) {
      const refused = await ask(undefined, "GET", path);
      expect(refused.status, path).toBe(401);
      expect(refused.headers.get("www-authenticate")).toBe("Bearer");
    }
    expect((await ask("ds_nonsense", "GET", "/api/days")).status).toBe(401);
    expect(
      (await ask(`${tokens.boss!.slice(0, -1)}${tokens.boss!.endsWith("A") ? "B" : "A"}`, "GET", "/api/days")).status,
    ).toBe(401);
    const Basic = { Authorization: `Basic ${Buffer.from(`calendar:${tokens.shop}`).toString("base64")}` };
    expect((await ask(undefined, "GET", "/api/days", undefined, Basic)).status).toBe(200);
    expect((await ask(undefined, "GET", "/health/ready")).status).toBe(200);
    expect(await (await ask(undefined, "GET", "/api")).json()).not.toHaveProperty("role");
  });

  it.each([
    ["GET", "/api/days", { shop: 200, bench: 200, office: 200, boss: 200 }],
    ["POST", "/api/days/ordinary-day/idle", { shop: 403, bench: 403, office: 202, boss: 202 }],
    ["PUT", "/api/days/no-such-day/files", { shop: 403, bench: 403, office: 400, boss: 400 }],
    ["DELETE", "/api/days/no-such-day", { shop: 403, bench: 403, office: 404, boss: 404 }],
    ["GET", "/api/tokens", { shop: 403, bench: 403, office: 403, boss: 200 }],
    ["GET", "/api/audit", { shop: 403, bench: 403, office: 403, boss: 200 }],
  ] as const)("%s %s by role", async (method, path, expected) => {
    for (const [who, status] of Object.entries(expected)) {
      const body = path.endsWith("idle") ? { milliseconds: 1 } : method === "PUT" ? {} : undefined;
      expect((await ask(who, method, path, body)).status, who).toBe(status);
    }
  });

  it("a station marks tasks of its own site only, and planners hear of it", async () => {
    const day = await makeSmallDay(server.url, { Authorization: `Bearer ${tokens.office}` });
    const job = (await (await ask("office", "POST", `${day}/draw`, { seconds: 0.5 })).json()) as { id: string };
    const auth = { Authorization: `Bearer ${tokens.office}` };
    await readEvents(`${server.url}/api/jobs/${job.id}/events`, undefined, auth);
    const taken = await ask("office", "POST", `${day}/in-force`, { job: job.id }, { "If-None-Match": "*" });
    expect(taken.status).toBe(200);
    const timetable = (await (await ask("bench", "GET", `${day}/documents/timetable`)).json()) as Timetable;
    const own = timetable.tasks.find((task) => task.site === "bridge-shop" && task.does === "bake")!;
    const other = timetable.tasks.find((task) => task.site !== "bridge-shop")!;
    const heard = readEvents(`${server.url}${day}/events`, ({ name }) => name === "mark", auth);
    await new Promise((resolve) => setTimeout(resolve, 300));
    const mark = { task: own.id, what: "started", at: own.start };
    const key = { "Idempotency-Key": "mark-1" };
    const first = await ask("bench", "POST", `${day}/marks`, mark, key);
    expect(first.status).toBe(201);
    expect(await (await ask("bench", "POST", `${day}/marks`, mark, key)).json()).toEqual(await first.clone().json());
    expect((await heard).at(-1)!.data).toMatchObject({ ...mark, site: "bridge-shop", by: "bench" });
    expect((await ask("bench", "POST", `${day}/marks`, { ...mark, task: other.id })).status).toBe(403);
    expect((await ask("office", "POST", `${day}/marks`, { ...mark, task: other.id })).status).toBe(201);
    expect((await ask("bench", "POST", `${day}/marks`, { ...mark, task: "no-such-task" })).status).toBe(404);
    expect((await ask("shop", "POST", `${day}/marks`, mark)).status).toBe(403);
    const { marks } = (await (await ask("shop", "GET", `${day}/marks`)).json()) as { marks: { id: string }[] };
    expect(marks).toHaveLength(2);

    // What was marked is a fact for whoever asks how things stand.
    interface Standing {
      readonly happenings: { readonly at?: string; readonly happenings: readonly object[] };
    }
    const standing = async (): Promise<Standing["happenings"]> =>
      ((await (await ask("shop", "POST", `${day}/standing`)).json()) as Standing).happenings;
    const started = { kind: "started", task: own.id, at: own.start };
    expect(marks[0]).toMatchObject({ happening: { ...started, note: "marked by bench" } });
    expect((await standing()).happenings).toEqual(expect.arrayContaining([expect.objectContaining(started)]));
    const aside = await ask("bench", "DELETE", `${day}/marks/${marks[1]!.id}`);
    expect(aside.status).toBe(403);
    expect((await ask("office", "DELETE", `${day}/marks/${marks[1]!.id}`)).status).toBe(200);
    expect((await standing()).happenings).not.toContainEqual(expect.objectContaining({ task: other.id }));
    const before = (await (await ask("shop", "GET", `${day}/documents/happenings`)).json()) as object;
    expect(before).not.toHaveProperty("at");
    expect((await ask("shop", "POST", `${day}/drift`)).status).toBe(200);
    // A repair of the stored day goes by it, and takes it into the happenings when it is put in force.
    const repair = (await (
      await ask("office", "POST", `${day}/repair`, { iterations: 5, remedySeconds: 0 })
    ).json()) as { id: string };
    const ended = await readEvents(`${server.url}/api/jobs/${repair.id}/events`, undefined, auth);
    expect(ended.at(-1)!.data).toMatchObject({ state: "done" });
    const match = { "If-Match": taken.headers.get("etag")! };
    const repaired = await ask("office", "POST", `${day}/in-force`, { job: repair.id }, match);
    expect(await repaired.json()).toMatchObject({ versions: { timetable: 2, happenings: 2 } });
    const after = (await (await ask("shop", "GET", `${day}/documents/happenings`)).json()) as Standing["happenings"];
    expect(after).toMatchObject({ at: expect.any(String), happenings: [started] });
    expect((await standing()).happenings).toHaveLength(1);
    const audit = (await (await ask("boss", "GET", "/api/audit?limit=20")).json()) as { entries: { action: string }[] };
    const actions = audit.entries.map(({ action }) => action);
    for (const action of ["mark-task", "set-mark-aside", "repair", "put-in-force"]) expect(actions).toContain(action);
  });

  it("signs a browser in by a cookie that scripts cannot read and other sites cannot use", async () => {
    const signed = await ask(undefined, "POST", "/api/session", { token: tokens.office });
    expect(signed.status).toBe(204);
    const cookie = signed.headers.get("set-cookie")!;
    expect(cookie).toMatch(/HttpOnly; SameSite=Strict/);
    const Cookie = cookie.split(";")[0]!;
    expect((await ask(undefined, "GET", "/api/days", undefined, { Cookie })).status).toBe(200);
    const body = { milliseconds: 1 };
    const own = { Cookie, Origin: server.url };
    expect((await ask(undefined, "POST", "/api/days/ordinary-day/idle", body, own)).status).toBe(202);
    // A page without an origin of its own says "null".
    for (const Origin of ["http://kitchen.example", "null", "nonsense"])
      expect((await ask(undefined, "POST", "/api/days/ordinary-day/idle", body, { Cookie, Origin })).status).toBe(403);
    expect((await ask(undefined, "POST", "/api/session", { token: "ds_x" })).status).toBe(401);
  });

  it("makes, rotates and ends tokens, whose secrets are told once and not stored", async () => {
    const made = await ask("boss", "POST", "/api/tokens", { name: "driver", role: "viewer", limits: { jobs: 0 } });
    const { token, record } = (await made.json()) as { token: string; record: { id: string } };
    expect((await ask(token, "GET", "/api/days")).status).toBe(200);
    const rotated = await ask("boss", "POST", `/api/tokens/${record.id}/rotate`);
    const fresh = ((await rotated.json()) as { token: string }).token;
    expect((await ask(token, "GET", "/api/days")).status).toBe(401);
    expect((await ask(fresh, "GET", "/api/days")).status).toBe(200);
    expect((await ask("boss", "DELETE", `/api/tokens/${record.id}`)).status).toBe(204);
    expect((await ask(fresh, "GET", "/api/days")).status).toBe(401);
    const { SqliteStore } = await import("../../services/store/sqlite.js");
    const store = new SqliteStore(join(dataFolder, "deckshelf.db"));
    const all = (await store.list("", { limit: 100_000 })).map(({ value }) => value).join("\n");
    await store.close();
    for (const text of [token, fresh, ...Object.values(tokens)]) expect(all.includes(text.slice(30))).toBe(false);
    const audit = (await (await ask("boss", "GET", "/api/audit")).json()) as {
      entries: { action: string; name: string }[];
    };
    expect(audit.entries.map(({ action }) => action).slice(0, 3)).toEqual(["end-token", "rotate-token", "make-token"]);
    expect(audit.entries.some(({ action, name }) => action === "mark-task" && name === "bench")).toBe(true);
  });

  it("keeps one token from starving another", async () => {
    await make("heavy", "--role", "planner");
    await make("light", "--role", "planner");
    const path = "/api/days/ordinary-day/idle";
    const submit = async (who: string): Promise<string> =>
      ((await (await ask(who, "POST", path, { milliseconds: 150 })).json()) as { id: string }).id;
    const heavy: string[] = [];
    for (let i = 0; i < 40; i++) heavy.push(await submit("heavy"));
    const light = [await submit("light"), await submit("light")];
    const auth = { Authorization: `Bearer ${tokens.boss}` };
    for (const id of light) await readEvents(`${server.url}/api/jobs/${id}/events`, undefined, auth);
    const states = await Promise.all(
      heavy.map(
        async (id) => ((await (await ask("boss", "GET", `/api/jobs/${id}`)).json()) as { state: string }).state,
      ),
    );
    expect(states.filter((state) => state === "waiting").length).toBeGreaterThan(15);
    const made = await ask("boss", "POST", "/api/tokens", {
      name: "small",
      role: "planner",
      limits: { jobs: 2, seconds: 10 },
    });
    const { token } = (await made.json()) as { token: string };
    expect((await ask(token, "POST", "/api/days/ordinary-day/draw", { seconds: 11 })).status).toBe(403);
    const statuses: number[] = [];
    for (let i = 0; i < 3; i++) statuses.push((await ask(token, "POST", path, { milliseconds: 60_000 })).status);
    expect(statuses).toEqual([202, 202, 429]);
  });
});

/** Says that a body of so many bytes comes, and sends one of them. */
function beginBody(url: string, path: string, bytes: number): Socket {
  const { hostname, port } = new URL(url);
  const socket = connect(Number(port), hostname);
  const head = [`PUT ${path} HTTP/1.1`, `Host: ${hostname}:${port}`, "Content-Type: application/json"];
  socket.write(`${[...head, 'If-Match: "day-1"', `Content-Length: ${bytes}`].join("\r\n")}\r\n\r\n{`);
  return socket;
}

async function statusOf(socket: Socket): Promise<number> {
  const [data] = (await once(socket, "data")) as [Buffer];
  return Number(/^HTTP\/1\.1 (\d+)/.exec(data.toString())![1]);
}

describe("limits", { timeout: 60_000 }, () => {
  it("ends the event streams of a token that ends", async () => {
    const made = await ask("boss", "POST", "/api/tokens", { name: "guest", role: "viewer" });
    const { token, record } = (await made.json()) as { token: string; record: { id: string } };
    const following = readEvents(`${server.url}/api/days/ordinary-day/events`, undefined, {
      Authorization: `Bearer ${token}`,
    }).then(
      () => "ended",
      () => "cut",
    );
    await new Promise((resolve) => setTimeout(resolve, 300));
    expect((await ask("boss", "DELETE", `/api/tokens/${record.id}`)).status).toBe(204);
    expect(await following).toBe("cut");
  });

  it("reads no body of whom it refuses, and holds only so many at a time of others", async () => {
    const refused = beginBody(server.url, "/api/days/ordinary-day", 10_000_000);
    expect(await statusOf(refused)).toBe(401);
    refused.destroy();
    const open = await startServer({ env: { DECKSHELF_BODY_MB: "1" } });
    const path = "/api/days/ordinary-day";
    const held = Array.from({ length: 16 }, () => beginBody(open.url, path, 1024 * 1024));
    // Reading goes on beside them.
    await new Promise((resolve) => setTimeout(resolve, 300));
    expect((await fetch(open.url + path)).status).toBe(200);
    const over = beginBody(open.url, path, 1024 * 1024);
    expect(await statusOf(over)).toBe(503);
    over.destroy();
    for (const socket of held) socket.destroy();
    await new Promise((resolve) => setTimeout(resolve, 300));
    const settings = await (await fetch(`${open.url}${path}/documents/settings`)).text();
    const put = await fetch(`${open.url}${path}/documents/settings`, {
      method: "PUT",
      headers: { "Content-Type": "application/json", "If-Match": "*" },
      body: settings,
    });
    expect(put.status).toBe(200);
    expect(await open.stop()).toBe(0);
  });

  it("counts requests by token, so kitchens at one address do not use up each other's", async () => {
    const env = { DECKSHELF_LOGIN: "on", DECKSHELF_REQUESTS_PER_10S: "20" };
    const limited = await startServer({ env });
    const make = async (name: string): Promise<Record<string, string>> => {
      const { stdout } = await run("node", ["dist/services/cli/main.js", "token", "make", name, "--role", "viewer"], {
        env: { ...process.env, DECKSHELF_DATA: limited.dataFolder },
      });
      return { Authorization: `Bearer ${stdout.trim()}` };
    };
    const [busy, calm] = await Promise.all([make("busy"), make("calm")]);
    const status = async (headers: Record<string, string>): Promise<number> =>
      (await fetch(`${limited.url}/api/days`, { headers })).status;
    const statuses = await Promise.all(Array.from({ length: 25 }, () => status(busy)));
    expect(statuses.filter((one) => one === 429).length).toBe(5);
    expect(await status(calm)).toBe(200);
    // Whoever guesses tokens is counted by address.
    const guesses = Array.from({ length: 25 }, (_, i) => status({ Authorization: `Bearer guess-${i}` }));
    expect((await Promise.all(guesses)).filter((one) => one === 429).length).toBe(5);
    expect(await status(calm)).toBe(200);
    expect(await limited.stop()).toBe(0);
  });

  it("refuses more requests than it takes, with a problem document and when to come again", async () => {
    const limited = await startServer({ env: { DECKSHELF_LOGIN: "on", DECKSHELF_REQUESTS_PER_10S: "20" } });
    const statuses: number[] = [];
    for (let i = 0; i < 25; i++) statuses.push((await fetch(`${limited.url}/api`)).status);
    expect(statuses.filter((status) => status === 429)).toHaveLength(5);
    const refused = await fetch(`${limited.url}/api`);
    expect(refused.headers.get("retry-after")).toMatch(/^\d+$/);
    expect(await refused.json()).toMatchObject({ type: "/problems/too-many" });
    expect((await fetch(`${limited.url}/health/live`)).status).toBe(200);
    expect(await limited.stop()).toBe(0);
  });
});
