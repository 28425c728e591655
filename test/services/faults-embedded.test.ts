import { execFileSync } from "node:child_process";
import { randomUUID } from "node:crypto";
import { existsSync } from "node:fs";
import { mkdir, mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "libsql";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Timetable } from "../../schemas/index.js";
import { isFinal, type Job, jobKeys } from "../../services/jobs/job.js";
import { SqliteStore } from "../../services/store/sqlite.js";
import { createRng } from "../../solver/rng.js";
import { build } from "../support/built.js";
import { readEvents, startServer, type TestServer } from "../support/server.js";
import { makeSmallDay } from "../support/small-day.js";

/** The product in one process, and what happens to its process, its disk and its clock. */
const LONG = process.env.DECKSHELF_LONG === "1";
const rng = createRng(Number(process.env.DECKSHELF_SEED ?? 1));
const pause = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));
const env = { DECKSHELF_IDLE: "on", DECKSHELF_LEASE_SECONDS: "1" };
let folder: string;

beforeAll(async () => {
  build();
  folder = await mkdtemp(join(tmpdir(), "deckshelf-faults-"));
}, 120_000);
afterAll(() => rm(folder, { recursive: true, force: true }));

/** Puts all of the store's log into its file, and the log away. */
function tidy(dataFolder: string): void {
  const path = join(dataFolder, "deckshelf.db");
  const db = new Database(path);
  db.exec("pragma wal_checkpoint(truncate)");
  db.close();
  expect(existsSync(`${path}-wal`)).toBe(false);
}

async function post(url: string, path: string, body: unknown, key: string): Promise<Response> {
  return fetch(url + path, {
    method: "POST",
    body: JSON.stringify(body),
    headers: { "Content-Type": "application/json", "Idempotency-Key": key },
  });
}

describe("the one process", { timeout: LONG ? 1_800_000 : 120_000 }, () => {
  it("killed in mid-request and mid-solve, goes on where it was", async () => {
    const dataFolder = join(folder, "killed");
    const trials = LONG ? 60 : 4;
    const accepted = new Set<string>();
    let server: TestServer = await startServer({ dataFolder, env });
    const day = await makeSmallDay(server.url);
    const mustBeOver = async (): Promise<void> => {
      const store = new SqliteStore(join(dataFolder, "deckshelf.db"));
      const until = Date.now() + 90_000;
      for (;;) {
        const records = await store.getMany([...accepted].map(jobKeys.job));
        if (records.every((record) => record && isFinal(JSON.parse(record.value) as Job))) break;
        if (Date.now() > until) throw new Error(records.map((record) => record?.value).join("\n"));
        await pause(50);
      }
      await store.close();
    };
    for (let trial = 0; trial < trials; trial++) {
      // A job whose worker dies five times is given up: on a busy machine one may well be in hand at every death.
      if (trial % 4 === 0) await mustBeOver();
      const keys = Array.from({ length: 8 }, () => randomUUID());
      const ask = async (key: string, i: number): Promise<void> => {
        const path = `${day}/${i === 0 ? "draw" : "idle"}`;
        const body = i === 0 ? { seconds: 0.3 } : { milliseconds: 30 * i };
        for (;;) {
          const response = await post(server.url, path, body, key).catch(() => undefined);
          if (response?.status === 202) return void accepted.add(((await response.json()) as Job).id);
          await pause(20);
        }
      };
      const asking = Promise.all(keys.map(ask));
      await pause(rng.below(400));
      server.child.kill("SIGKILL");
      await server.ended;
      server = await startServer({ dataFolder, env });
      await asking;
    }
    await mustBeOver();
    const store = new SqliteStore(join(dataFolder, "deckshelf.db"));
    const listed = await store.list(jobKeys.listedOf("small"));
    expect(listed).toHaveLength(accepted.size);
    for (const id of accepted) {
      const job = JSON.parse((await store.get(jobKeys.job(id)))!.value) as Job;
      expect(job.state, JSON.stringify(job)).toBe("done");
      expect(await store.get(jobKeys.result(id))).toBeDefined();
    }
    await pause(300);
    for (const prefix of ["active/", "lease/", "signal/", "outbox/", "left/"])
      expect(await store.list(prefix)).toEqual([]);
    await store.close();
    expect(await server.stop()).toBe(0);
    console.log(`process killed: ${trials} trials, ${accepted.size} commands accepted, all done, 0 lost, 0 twice`);
  });

  it("with one slot, killed in the middle of a job of four parts: the parts go on, and are gathered once", async () => {
    const dataFolder = join(folder, "one-slot");
    const one = { ...env, DECKSHELF_THREADS: "1", DECKSHELF_LANES: "4" };
    let server = await startServer({ dataFolder, env: one });
    const day = await makeSmallDay(server.url);
    const jobs = await Promise.all(
      (["headroom", "draw"] as const).map(async (name) => {
        const asked = await post(server.url, `${day}/${name}`, { seconds: 1 }, randomUUID());
        return (await asked.json()) as Job;
      }),
    );
    await readEvents(`${server.url}/api/jobs/${jobs[0]!.id}/events`, ({ data }) => (data as Job).state === "gathering");
    await pause(rng.below(3000));
    server.child.kill("SIGKILL");
    await server.ended;
    server = await startServer({ dataFolder, env: one });
    for (const { id } of jobs) {
      const events = await readEvents(`${server.url}/api/jobs/${id}/events`);
      const { state, parts } = events.at(-1)!.data as Job;
      expect(state).toBe("done");
      expect(parts).toHaveLength(4);
      for (const part of parts!)
        expect(await (await fetch(`${server.url}/api/jobs/${part}`)).json()).toMatchObject({ state: "done" });
      expect((await fetch(`${server.url}/api/jobs/${id}/result`)).status).toBe(200);
    }
    expect(await server.stop()).toBe(0);
  });

  const canMount = ((): boolean => {
    try {
      execFileSync("mount", ["-t", "tmpfs", "-o", "size=1m", "tmpfs", "/mnt"], { stdio: "pipe" });
      execFileSync("umount", ["/mnt"], { stdio: "pipe" });
      return true;
    } catch {
      return false;
    }
  })();

  it.skipIf(!canMount)(
    "a full disk and a read-only folder: refused with a reason, nothing lost, well again after",
    async () => {
      const dataFolder = join(folder, "small");
      await mkdir(dataFolder);
      execFileSync("mount", ["-t", "tmpfs", "-o", "size=6m", "tmpfs", dataFolder]);
      let server: TestServer | undefined;
      const trials = LONG ? 30 : 2;
      try {
        server = await startServer({ dataFolder, env });
        const address = (): string => `${server!.url}/api/days/holiday-spike/documents/settings`;
        const read = async (): Promise<{ name: string }> => (await (await fetch(address())).json()) as { name: string };
        let settings = await read();
        let saves = 0;
        const save = async (name: string): Promise<Response> => {
          const tag = (await fetch(address())).headers.get("etag")!;
          const body = JSON.stringify({ ...settings, name });
          const headers = { "Content-Type": "application/json", "If-Match": tag };
          const response = await fetch(address(), { method: "PUT", body, headers });
          if (response.status === 200) {
            settings = { ...settings, name };
            saves++;
          }
          return response;
        };
        for (let trial = 0; trial < trials; trial++) {
          execFileSync("sh", ["-c", `dd if=/dev/zero of=${dataFolder}/ballast bs=4k 2>/dev/null || true`]);
          let refused: Response | undefined;
          // The store's log has some room of its own; it ends.
          for (let i = 0; i < 300 && refused === undefined; i++) {
            const response = await save(`full ${trial} ${i}`);
            if (response.status !== 200) refused = response;
          }
          expect(refused!.status).toBe(503);
          expect(await refused!.json()).toMatchObject({ type: "/problems/unavailable" });
          expect((await fetch(`${server.url}/health/live`)).status).toBe(200);
          expect(await read()).toEqual(settings);
          await rm(join(dataFolder, "ballast"));
          expect((await save(`after ${trial}`)).status).toBe(200);

          expect(await server.stop(true)).toBe(0);
          // Whether the log is left beside the file hangs on who closes it last: either way.
          const isTidied = trial % 2 === 0;
          if (isTidied) tidy(dataFolder);
          execFileSync("mount", ["-o", "remount,ro", dataFolder]);
          // What is there can be read; nothing can be written, and that is said.
          server = await startServer({ dataFolder, env });
          expect(await read()).toEqual(settings);
          const unable = await save(`read-only ${trial}`);
          expect(unable.status).toBe(503);
          expect(await unable.json()).toMatchObject({ detail: expect.stringMatching(/store's file cannot be used/) });
          expect((await fetch(`${server.url}/health/ready`)).status).toBe(503);
          if (isTidied) {
            execFileSync("mount", ["-o", "remount,rw", dataFolder]);
            expect((await save(`writable again ${trial}`)).status).toBe(200);
            expect(await read()).toEqual(settings);
          }
          expect(await server.stop(true)).toBe(0);
          execFileSync("mount", ["-o", "remount,rw", dataFolder]);
          server = await startServer({ dataFolder, env });
          expect(await read()).toEqual(settings);
        }
        console.log(
          `disk full, then read-only: ${trials} trials each, ${saves} accepted saves, 0 lost; refusals named the reason`,
        );
      } finally {
        await server?.stop(true);
        execFileSync("umount", ["-l", dataFolder]);
      }
    },
  );

  it("the clock jumps, forwards and back by days", async () => {
    const jump = join(folder, "jump.mjs");
    await writeFile(
      jump,
      `const real = Date.now; let offset = 0;
       setInterval(() => { offset = Math.round((Math.random() - 0.5) * 10 * 86_400_000); }, 150).unref();
       Date.now = () => real() + offset;
       globalThis.Date = new Proxy(Date, {
         construct: (Target, args) => (args.length === 0 ? new Target(real() + offset) : new Target(...args)),
         get: (Target, name) => (name === "now" ? () => real() + offset : Reflect.get(Target, name)),
       });`,
    );
    const server = await startServer({ env: { ...env, NODE_OPTIONS: `--import ${jump}` } });
    const day = await makeSmallDay(server.url);
    const rounds = LONG ? 30 : 1;
    const known = new Set<string>();
    for (let round = 1; round <= rounds; round++) {
      const jobs = await Promise.all(
        Array.from({ length: 6 }, async (_, i) => {
          const path = `${day}/${i === 0 ? "draw" : "idle"}`;
          const body = i === 0 ? { seconds: 1.5 } : { milliseconds: 600 };
          return (await (await post(server.url, path, body, randomUUID())).json()) as Job;
        }),
      );
      for (const { id } of jobs) known.add(id);
      expect(known.size).toBe(round * jobs.length);
      for (const { id } of jobs) {
        const events = await readEvents(`${server.url}/api/jobs/${id}/events`);
        expect(events.at(-1)!.data).toMatchObject({ state: "done", attempt: expect.any(Number) });
        const job = events.at(-1)!.data as Job;
        // Nobody took a living worker for dead.
        expect(job.attempt).toBe(job.parts ? 2 : 1);
      }
    }
    expect(await server.stop()).toBe(0);
    console.log(
      `clock jumping every 150 ms by up to 5 days: ${rounds} trials, ${known.size} jobs, all done, none begun twice`,
    );
  });

  it("ends by Ctrl-C in mid-solve with exit code 0, and does the job after the next start", async () => {
    const dataFolder = join(folder, "ended");
    const server = await startServer({ dataFolder, env });
    const asked = await post(server.url, "/api/days/ordinary-day/draw", { iterations: 150 }, randomUUID());
    const job = (await asked.json()) as Job;
    await readEvents(`${server.url}/api/jobs/${job.id}/events`, ({ name }) => name === "progress");
    expect(await server.stop(true)).toBe(0);
    const again = await startServer({ dataFolder, env });
    const events = await readEvents(`${again.url}/api/jobs/${job.id}/events`);
    expect(events.at(-1)!.data).toMatchObject({ id: job.id, state: "done", attempt: 1 });
    const result = (await (await fetch(`${again.url}/api/jobs/${job.id}/result`)).json()) as { timetable: Timetable };
    expect(result.timetable.iterations).toBeGreaterThanOrEqual(150);
    expect(await again.stop()).toBe(0);
  });

  it("logs no bodies, headers, queries or tokens", async () => {
    const server = await startServer({ env: { DECKSHELF_LOG: "trace", DECKSHELF_LOGIN: "on" } });
    const secret = `ds_${"0".repeat(26)}_${"s".repeat(43)}`;
    const headers = { Authorization: `Bearer ${secret}`, "Content-Type": "application/json" };
    expect((await fetch(`${server.url}/api/days?note=hush`, { headers })).status).toBe(401);
    await fetch(`${server.url}/api/session`, { method: "POST", headers, body: JSON.stringify({ token: secret }) });
    expect(await server.stop()).toBe(0);
    expect(server.output()).toContain('"msg":"request"');
    expect(server.output()).not.toContain(secret);
    expect(server.output()).not.toContain("hush");
  });
});
