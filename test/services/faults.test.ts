import { createConnection } from "node:net";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type Job, jobKeys } from "../../services/jobs/job.js";
import { BullJobQueue } from "../../services/queue/bull.js";
import { randomDay } from "../days/random-day.js";
import { build } from "../support/built.js";
import { Cluster, pause } from "../support/cluster.js";
import { readEvents } from "../support/server.js";

/**
 * Real processes on a real Redis, and what happens to them on a bad night. After each trial: every accepted command is done, none twice, the verifier accepts
 * what was stored, and nothing is left locked.
 */
const LONG = process.env.DECKSHELF_LONG === "1";
const SEED = Number(process.env.DECKSHELF_SEED ?? 1);
let cluster: Cluster;

beforeAll(async () => {
  build();
  cluster = await Cluster.start({ apis: 2, workers: 2 }, SEED);
}, 180_000);
afterAll(() => cluster.stop());

interface Counts {
  readonly quick: number;
  readonly long: number;
  readonly jobs: number;
}

/** Many times: work arrives, the fault comes at a random moment, and all must end well. */
async function trials(name: string, { quick, long, jobs }: Counts, fault: () => Promise<void>): Promise<void> {
  const count = LONG ? long : quick;
  let done = 0;
  let begunAgain = 0;
  for (let trial = 0; trial < count; trial++) {
    const sent = cluster.work(jobs, 600);
    await pause(cluster.below(500));
    await fault();
    const ids = await sent;
    await cluster.settle(ids);
    const found = await cluster.inspect(ids);
    done += found.jobs;
    begunAgain += found.begunAgain;
  }
  console.log(
    `${name}: ${count} trials, ${done} commands accepted, ${done} done, 0 lost, 0 done twice, ${begunAgain} begun again by another worker`,
  );
}

describe("faults", { timeout: LONG ? 3_600_000 : 300_000 }, () => {
  it("kill -9 of a worker in mid-solve", () =>
    trials("worker killed", { quick: 3, long: 60, jobs: 9 }, async () => {
      const [victim] = cluster.workers.splice(cluster.below(cluster.workers.length), 1);
      await cluster.untilBusy(victim!);
      await pause(cluster.below(150));
      await cluster.kill(victim!);
      await cluster.startWorker();
    }));

  it("kill -9 of a server in mid-request", () =>
    trials("server killed", { quick: 4, long: 100, jobs: 12 }, async () => {
      const [victim] = cluster.apis.splice(cluster.below(cluster.apis.length), 1);
      await cluster.kill(victim!.process);
      await cluster.startApi();
    }));

  it("kill -9 of Redis, which comes back with its append-only file", () =>
    trials("Redis killed", { quick: 3, long: 60, jobs: 9 }, async () => {
      await cluster.redis.kill();
      await pause(cluster.below(800));
      await cluster.redis.up();
    }));

  it("the line between workers and Redis cut, by an end of all connections or by silence", () =>
    trials("line cut", { quick: 3, long: 60, jobs: 9 }, async () => {
      cluster.line.cut(cluster.below(2) === 0 ? "refusing" : "hanging");
      await pause(500 + cluster.below(4000));
      cluster.line.mend();
    }));

  it("one worker with one slot: jobs of four parts, whose parent or parts die with it", async () => {
    for (const worker of cluster.workers.splice(0)) await cluster.kill(worker);
    const one = { DECKSHELF_THREADS: "1", DECKSHELF_LANES: "4" };
    await cluster.startWorker(one);
    const { inForce: _, ...documents } = randomDay(12, "tiny");
    const rounds = LONG ? 20 : 1;
    for (let round = 0; round < rounds; round++) {
      const ids = await Promise.all([
        cluster.submit("/api/headroom", { documents, request: { seconds: 1 } }),
        cluster.submit("/api/remedies", { documents, request: { seconds: 1, multiple: 3 } }),
        cluster.submit("/api/draw", { documents, request: { seconds: 0.5 } }, documents),
        cluster.submit("/api/days/ordinary-day/idle", { milliseconds: 200, parts: 4 }),
      ]);
      await cluster.untilBusy(cluster.workers[0]!);
      await pause(cluster.below(4000));
      await cluster.kill(cluster.workers.splice(0, 1)[0]!);
      await cluster.startWorker(one);
      await cluster.settle(ids);
      await cluster.inspect(ids);
      const store = cluster.store();
      for (const id of ids) {
        const { parts } = JSON.parse((await store.get(jobKeys.job(id)))!.value) as Job;
        expect(parts).toHaveLength(4);
        for (const part of await store.getMany(parts!.map(jobKeys.job)))
          expect(JSON.parse(part!.value)).toMatchObject({ state: "done", parent: id });
        // What the parts found is gathered, not kept twice.
        expect(await store.getMany(parts!.map(jobKeys.result))).toEqual([undefined, undefined, undefined, undefined]);
      }
      await store.close();
    }
    await cluster.kill(cluster.workers.splice(0, 1)[0]!);
    for (let i = 0; i < 2; i++) await cluster.startWorker();
    console.log(
      `one slot: ${rounds} trials, ${4 * rounds} commands of four parts each accepted, all done, 0 lost, 0 twice`,
    );
  });

  it("duplicate delivery", async () => {
    const queue = new BullJobQueue(cluster.redis.url);
    let copies = 0;
    await trials("messages delivered again", { quick: 3, long: 50, jobs: 9 }, async () => {
      for (const id of cluster.accepted.keys()) {
        if (copies > 2000) break;
        await queue.push({ job: id, ticket: `copy-${copies++}`, rank: 1 });
      }
    });
    console.log(`  ${copies} copies of messages, of jobs waiting, running and long done`);
    await queue.close();
  });

  it("planners that save at once: one of them wins, the others are told", async () => {
    const rounds = LONG ? 200 : 8;
    const planners = 8;
    const address = "/api/days/holiday-spike/documents/settings";
    for (let round = 0; round < rounds; round++) {
      const read = await fetch(cluster.apis[0]!.url + address);
      const settings = (await read.json()) as object;
      const tag = read.headers.get("etag")!;
      const answers = await Promise.all(
        Array.from({ length: planners }, (_, i) =>
          cluster.send("PUT", address, { ...settings, name: `round ${round} planner ${i}` }, { "If-Match": tag }),
        ),
      );
      const statuses = answers.map(({ status }) => status).sort((a, b) => a - b);
      expect(statuses).toEqual([200, ...Array.from({ length: planners - 1 }, () => 412)]);
      const winner = answers.findIndex(({ status }) => status === 200);
      const now = (await (await fetch(cluster.apis[1]!.url + address)).json()) as { name: string };
      expect(now.name).toBe(`round ${round} planner ${winner}`);
    }
    const history = (await (await fetch(`${cluster.apis[0]!.url}${address}/history`)).json()) as {
      versions: unknown[];
    };
    expect(history.versions.length).toBe(Math.min(100, rounds + 1));
    console.log(`${planners} planners saving at once: ${rounds} rounds, one winner each, ${rounds} versions`);
  });

  it("2 000 queued jobs", async () => {
    const total = LONG ? 10_000 : 2000;
    const ids: string[] = [];
    let sent = 0;
    const sender = async (): Promise<void> => {
      while (sent < total) {
        sent++;
        ids.push(await cluster.submit("/api/days/ordinary-day/idle", { milliseconds: 0 }));
      }
    };
    const started = performance.now();
    await Promise.all(Array.from({ length: 40 }, sender));
    const acceptedMs = performance.now() - started;
    await cluster.settle(ids, 600_000);
    const doneMs = performance.now() - started;
    await cluster.inspect(ids);
    console.log(
      `${total} jobs queued: all accepted after ${(acceptedMs / 1000).toFixed(1)} s, all done after ${(doneMs / 1000).toFixed(1)} s, 0 lost, 0 done twice`,
    );
  });

  it("a reader of an event stream that takes nothing", async () => {
    const { url } = cluster.apis[0]!;
    const memory = async (): Promise<number> =>
      Number(/^deckshelf_process_resident_memory_bytes (\S+)/m.exec(await (await fetch(`${url}/metrics`)).text())![1]);
    const id = await cluster.submit("/api/days/ordinary-day/idle", { milliseconds: 5000, reports: 30 });
    const { hostname, port } = new URL(url);
    const readers = Array.from({ length: 30 }, () => {
      const socket = createConnection(Number(port), hostname);
      socket.pause();
      socket.write(`GET /api/jobs/${id}/events HTTP/1.1\r\nHost: ${hostname}:${port}\r\n\r\n`);
      return socket;
    });
    const before = await memory();
    const events = await readEvents(`${url}/api/jobs/${id}/events`);
    expect(events.at(-1)!.data).toMatchObject({ state: "done" });
    const growthMb = ((await memory()) - before) / 1024 / 1024;
    const sentMb = (JSON.stringify(events).length * 30) / 1024 / 1024;
    for (const socket of readers) socket.destroy();
    expect(growthMb).toBeLessThan(100);
    await cluster.inspect([id]);
    console.log(
      `30 readers that take nothing of a stream of ${events.length} events (${sentMb.toFixed(0)} MB in all): the server grew by ${growthMb.toFixed(0)} MB, another reader saw all`,
    );
  });

  it("a worker that is told to end gives its job to another", async () => {
    const ids = await Promise.all(
      [1, 2, 3, 4].map(() => cluster.submit("/api/days/ordinary-day/idle", { milliseconds: 3000 })),
    );
    await pause(700);
    const [leaving] = cluster.workers.splice(0, 1);
    leaving!.child.kill("SIGTERM");
    expect(await leaving!.ended).toBe(0);
    await cluster.startWorker();
    await cluster.settle(ids);
    await cluster.inspect(ids);
  });
});
