import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it, vi } from "vitest";
import { LocalEvents } from "../../services/events/events.js";
import { accept } from "../../services/jobs/accepting.js";
import { isFinal, type Job, jobKeys } from "../../services/jobs/job.js";
import { Relay } from "../../services/jobs/relay.js";
import { JobWorker } from "../../services/jobs/worker.js";
import { LocalQueue } from "../../services/queue/local.js";
import { SqliteStore } from "../../services/store/sqlite.js";
import { transact } from "../../services/store/transact.js";
import { build } from "../support/built.js";

// The operation that only waits.
vi.hoisted(() => {
  process.env.DECKSHELF_IDLE = "on";
});

let folder: string;
beforeAll(async () => {
  build();
  folder = await mkdtemp(join(tmpdir(), "deckshelf-night-"));
}, 120_000);
afterAll(() => rm(folder, { recursive: true, force: true }));

const AT = "2026-11-27T06:00:00Z";

describe("jobs whose workers died", { timeout: 60_000 }, () => {
  it("go behind the others, then alone, and no other job pays for them", async () => {
    const store = new SqliteStore(join(folder, "night.db"));
    const put = (id: string, rank: number): Promise<unknown> =>
      transact(store, async (tx) => {
        const input = { request: JSON.stringify({ milliseconds: 0 }), texts: {} };
        accept(tx, { id, operation: "idle", owner: "a", rank, seconds: 0, input }, AT);
      });
    const jobOf = async (id: string): Promise<Job> => JSON.parse((await store.get(jobKeys.job(id)))!.value) as Job;
    // Two jobs that dead workers held, one of them for the third time; nobody renews the leases.
    for (const [id, attempt] of [
      ["new", 1],
      ["suspect", 2],
    ] as const) {
      await put(id, 1);
      await transact(store, async (tx) => {
        tx.put(jobKeys.job(id), { ...(await tx.get<Job>(jobKeys.job(id)))!, state: "running", attempt });
        tx.put(jobKeys.lease(id), { worker: "dead" });
        tx.delete(jobKeys.outbox(`${id}.1`));
      });
    }
    const others = Array.from({ length: 6 }, (_, i) => `other-${i}`);
    for (const id of others) await put(id, 2);
    const queue = new LocalQueue();
    const relay = new Relay(store, queue, { outboxMs: 20, sweepMs: 50, leaseMs: 200 });
    relay.start();
    const until = async (test: () => Promise<boolean>): Promise<void> => {
      while (!(await test())) await new Promise((resolve) => setTimeout(resolve, 10));
    };
    await until(async () => (await jobOf("suspect")).state === "waiting" && (await jobOf("new")).state === "waiting");
    await until(async () => (await queue.depth()) === 8);

    const begun: string[] = [];
    const together = new Map<string, number>();
    let running: string[] = [];
    const nothing = (): void => undefined;
    const worker = new JobWorker({
      store,
      queue,
      events: new LocalEvents(),
      pool: {
        size: 3,
        run: async () => {
          await new Promise((resolve) => setTimeout(resolve, 30));
          return { milliseconds: 0 };
        },
      },
      dayOf: async () => ({}) as never,
      lanes: 1,
      name: "one",
      heartbeatMs: 2000,
      kick: () => relay.kick(),
      watch: {
        began: ({ id }) => {
          begun.push(id);
          running = [...running, id];
          for (const one of running) together.set(one, Math.max(together.get(one) ?? 0, running.length));
        },
        ended: ({ id }) => {
          running = running.filter((one) => one !== id);
        },
        fenced: nothing,
        refused: nothing,
        failed: nothing,
      },
    });
    const all = [...others, "new", "suspect"];
    await until(async () => (await Promise.all(all.map(jobOf))).every(isFinal));
    for (const id of all) expect(await jobOf(id)).toMatchObject({ state: "done" });
    expect(new Set(begun.slice(0, 6))).toEqual(new Set(others));
    expect(together.get("suspect")).toBe(1);
    expect(Math.max(...others.map((id) => together.get(id)!))).toBe(3);
    expect((await jobOf("new")).attempt).toBe(2);
    await worker.close();
    await relay.close();
    await store.close();
  });
});
