import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { LocalEvents } from "../../services/events/events.js";
import { newId } from "../../services/ids.js";
import { accept } from "../../services/jobs/accepting.js";
import { isFinal, type Job, jobKeys } from "../../services/jobs/job.js";
import { Relay } from "../../services/jobs/relay.js";
import { Turns } from "../../services/jobs/turns.js";
import { JobWorker } from "../../services/jobs/worker.js";
import { LocalQueue } from "../../services/queue/local.js";
import { SqliteStore } from "../../services/store/sqlite.js";
import { transact } from "../../services/store/transact.js";
import { build } from "../support/built.js";

// The operation that only waits.
vi.hoisted(() => {
  process.env.DECKSHELF_IDLE = "on";
});

/** One slot, whose solver only waits a moment, and several owners who want it. */
class Kitchen {
  readonly begun: string[] = [];
  readonly store: SqliteStore;
  readonly turns: Turns;
  private readonly queue = new LocalQueue();
  private readonly relay: Relay;
  private readonly worker: JobWorker;

  constructor(folder: string) {
    this.store = new SqliteStore(join(folder, "turns.db"));
    this.turns = new Turns(this.store);
    this.relay = new Relay(this.store, this.queue, { outboxMs: 50, sweepMs: 5000, leaseMs: 20_000 });
    this.relay.start();
    const wait = (): Promise<object> => new Promise((resolve) => setTimeout(() => resolve({ milliseconds: 0 }), 2));
    this.worker = new JobWorker({
      store: this.store,
      queue: this.queue,
      events: new LocalEvents(),
      pool: { size: 1, run: wait },
      dayOf: async () => ({}) as never,
      lanes: 1,
      name: "one",
      heartbeatMs: 2000,
      kick: () => this.relay.kick(),
      watch: {
        began: ({ owner }) => this.begun.push(owner),
        ended: () => undefined,
        fenced: () => undefined,
        refused: () => undefined,
        failed: () => undefined,
      },
    });
  }

  /** As a server accepts it; undefined when it is refused. */
  async send(owner: string, most = 1000): Promise<string | undefined> {
    const turn = await this.turns.take(owner, most);
    if (!turn) return undefined;
    const id = newId();
    const input = { request: JSON.stringify({ milliseconds: 0 }), texts: {} };
    const job = { id, operation: "idle", owner, rank: turn.rank, seconds: 0, input };
    await transact(this.store, async (tx) => accept(tx, job, new Date().toISOString())).finally(turn.settled);
    this.relay.kick();
    return id;
  }

  async over(id: string): Promise<void> {
    for (;;) {
      const job = JSON.parse((await this.store.get(jobKeys.job(id)))!.value) as Job;
      if (isFinal(job)) return expect(job.state).toBe("done");
      await new Promise((resolve) => setTimeout(resolve, 2));
    }
  }

  async close(): Promise<void> {
    await this.worker.close();
    await this.relay.close();
    await this.store.close();
  }
}

let folder: string;
let kitchen: Kitchen;
beforeEach(async () => {
  build();
  folder = await mkdtemp(join(tmpdir(), "deckshelf-turns-"));
  kitchen = new Kitchen(folder);
});
afterEach(async () => {
  await kitchen.close();
  await rm(folder, { recursive: true, force: true });
});

describe("turns", { timeout: 60_000 }, () => {
  it("who has many jobs waiting holds up nobody who has few", async () => {
    await Promise.all(Array.from({ length: 60 }, () => kitchen.send("many")));
    await kitchen.over((await kitchen.send("few"))!);
    const before = kitchen.begun.indexOf("few");
    expect(before).toBeLessThan(30);
    await kitchen.over((await kitchen.send("few"))!);
    // One of the others at most came up between one and the next, and what was in hand.
    expect(kitchen.begun.lastIndexOf("few") - before).toBeLessThan(5);
  });

  it("nor do they who always have one hold up who has some", async () => {
    let isOver = false;
    const steady = async (owner: string): Promise<void> => {
      while (!isOver && kitchen.begun.length < 200) await kitchen.over((await kitchen.send(owner))!);
    };
    const others = ["b", "c", "d"].map(steady);
    const own: (string | undefined)[] = [];
    for (let i = 0; i < 4; i++) own.push(await kitchen.send("a"));
    for (const id of own) await kitchen.over(id!);
    isOver = true;
    await Promise.all(others);
    const places = kitchen.begun.flatMap((owner, i) => (owner === "a" ? [i] : []));
    expect(places).toHaveLength(4);
    // Four owners in turn: every fourth, give or take.
    expect(places.at(-1)).toBeLessThan(24);
  });

  it("many at once do not find more room than there is, and ranks begin again when nothing waits", async () => {
    const sent = await Promise.all(Array.from({ length: 40 }, () => kitchen.send("eager", 5)));
    const accepted = sent.filter((id) => id !== undefined);
    expect(accepted.length).toBeLessThanOrEqual(5);
    expect(accepted.length).toBeGreaterThan(0);
    for (const id of accepted) await kitchen.over(id);
    for (let i = 0; i < 3; i++) {
      const turn = await kitchen.turns.take("eager", 5);
      expect(turn!.rank).toBe(1);
      turn!.settled();
    }
  });
});
