import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Happenings, Timetable } from "../../schemas/index.js";
import type { Job } from "../../services/jobs/job.js";
import { realisticDay } from "../bench/days/realistic-day.js";
import { build } from "../support/built.js";
import { longestSince, watched } from "../support/loop.js";
import { readEvents, startServer, type TestServer } from "../support/server.js";

/** A repair of a big day that much was marked of is put in force: with what was marked, over nobody's words, and holding nobody up. */
const LOADS = 300;
const MARKS = 400;
const MOST_WORK_MS = 100;
const DAY = "/api/days/big";
let folder: string;
let server: TestServer;

beforeAll(async () => {
  build();
  folder = await mkdtemp(join(tmpdir(), "deckshelf-force-"));
  server = await startServer({ env: watched(join(folder, "rounds")) });
}, 180_000);
afterAll(async () => {
  await server.stop();
  await rm(folder, { recursive: true, force: true });
});

function ask(method: string, path: string, body?: unknown, headers: Record<string, string> = {}): Promise<Response> {
  return fetch(server.url + path, {
    method,
    headers: { "Content-Type": "application/json", ...headers },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
  });
}

async function done(operation: string, request: unknown): Promise<string> {
  const { id } = (await (await ask("POST", `${DAY}/${operation}`, request)).json()) as Job;
  const events = await readEvents(`${server.url}/api/jobs/${id}/events`);
  expect(events.at(-1)!.data).toMatchObject({ state: "done" });
  return id;
}

describe("a repair put in force", { timeout: 120_000 }, () => {
  it("takes what was marked into the happenings, unless they were changed since, and holds nobody up", async () => {
    const { inForce: _, ...documents } = realisticDay(1, LOADS);
    expect((await ask("PUT", DAY, documents, { "If-None-Match": "*" })).status).toBe(201);
    const drawn = await done("draw", { seconds: 1 });
    expect((await ask("POST", `${DAY}/in-force`, { job: drawn }, { "If-None-Match": "*" })).status).toBe(200);
    const { tasks } = (await (await ask("GET", `${DAY}/documents/timetable`)).json()) as Timetable;
    const marked = tasks
      .filter(({ load }) => load !== undefined)
      .sort((a, b) => Date.parse(a.start) - Date.parse(b.start))
      .slice(0, MARKS);
    const marks = await Promise.all(
      marked.map(({ id, start }) => ask("POST", `${DAY}/marks`, { task: id, what: "started", at: start })),
    );
    expect(new Set(marks.map(({ status }) => status))).toEqual(new Set([201]));

    const repair = { seconds: 1, remedySeconds: 0 };
    const stale = await done("repair", repair);
    const happenings = (await (await ask("GET", `${DAY}/documents/happenings`)).json()) as Happenings;
    const put = await ask("PUT", `${DAY}/documents/happenings`, happenings, { "If-Match": '"happenings-1"' });
    expect(put.status).toBe(200);
    const match = { "If-Match": '"timetable-1"' };
    const refused = await ask("POST", `${DAY}/in-force`, { job: stale }, match);
    expect(await refused.json()).toMatchObject({ type: "/problems/changed-meanwhile" });
    expect(await (await ask("GET", DAY)).json()).toMatchObject({ versions: { timetable: 1, happenings: 2 } });

    const fresh = await done("repair", repair);
    const since = Date.now();
    const taken = await ask("POST", `${DAY}/in-force`, { job: fresh }, match);
    expect(await taken.json()).toMatchObject({ versions: { timetable: 2, happenings: 3 } });
    const longest = await longestSince(join(folder, "rounds"), since);
    const told = (await (await ask("GET", `${DAY}/documents/happenings`)).json()) as Happenings;
    expect(told.happenings.filter(({ kind }) => kind === "started").length).toBeGreaterThan(MARKS / 2);
    // The day as it stands can be had again: what was told is of the timetable beside it.
    const { documents: whole } = (await (await ask("GET", `${DAY}/documents`)).json()) as { documents: object };
    const again = await ask("PUT", "/api/days/again", whole, { "If-None-Match": "*" });
    expect(again.status, await again.text()).toBe(201);
    if (!longest) return;
    console.log(`a repair of ${LOADS} loads with ${MARKS} marks put in force: ${longest.text}`);
    expect(longest.workedMs).toBeLessThan(MOST_WORK_MS);
  });
});
