import { LocalEvents } from "../../../services/events/events.js";
import { newId } from "../../../services/ids.js";
import { accept } from "../../../services/jobs/accepting.js";
import { isFinal, type Job, jobKeys } from "../../../services/jobs/job.js";
import { Relay } from "../../../services/jobs/relay.js";
import { JobWorker, type WorkerWatch } from "../../../services/jobs/worker.js";
import { BullJobQueue } from "../../../services/queue/bull.js";
import { RedisStore } from "../../../services/store/redis.js";
import { transact } from "../../../services/store/transact.js";
import { Cluster } from "../../support/cluster.js";
import { TestRedis } from "../../support/redis.js";
import { loadText, table } from "../table.js";

const SILENT: WorkerWatch = {
  began: () => undefined,
  ended: () => undefined,
  fenced: () => undefined,
  refused: () => undefined,
  failed: () => undefined,
};
const PARTS = 64;
const PART_MS = 100;

/** One job of 64 parts, on so many workers whose solvers only sleep: what is left over is queue and store. */
async function sleeping(redis: TestRedis, workers: number): Promise<number> {
  const namespace = `bench${workers}`;
  const store = new RedisStore(redis.url, namespace);
  const events = new LocalEvents();
  const queues = Array.from({ length: workers + 1 }, () => new BullJobQueue(redis.url, `${namespace}:queue`));
  const relay = new Relay(store, queues[0]!, { outboxMs: 200, sweepMs: 2000, leaseMs: 10_000 });
  relay.start();
  const running = queues.slice(1).map(
    (queue, i) =>
      new JobWorker({
        store,
        queue,
        events,
        pool: {
          size: 1,
          run: async (_name, _day, request) => {
            await new Promise((resolve) => setTimeout(resolve, (request as { milliseconds: number }).milliseconds));
            return { milliseconds: PART_MS };
          },
        },
        dayOf: async () => ({}) as never,
        lanes: 1,
        name: `worker ${i}`,
        heartbeatMs: 2000,
        kick: () => relay.kick(),
        watch: SILENT,
      }),
  );
  await new Promise((resolve) => setTimeout(resolve, 1000));
  const id = newId();
  const started = performance.now();
  const request = JSON.stringify({ milliseconds: PART_MS, parts: PARTS });
  const job = { id, operation: "idle", owner: "bench", rank: 1, seconds: 0, input: { request, texts: {} } };
  await transact(store, async (tx) => accept(tx, job, new Date().toISOString()));
  relay.kick();
  for (;;) {
    const record = await store.get(jobKeys.job(id));
    if (record && isFinal(JSON.parse(record.value) as Job)) break;
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
  const elapsed = performance.now() - started;
  for (const worker of running) await worker.close();
  await relay.close();
  await Promise.all(queues.map((queue) => queue.close()));
  await store.close();
  return elapsed;
}

/** Drawings of the demo day by real worker processes with one solver thread each. */
async function drawing(workers: number, jobs: number, iterations: number): Promise<number> {
  const env = { DECKSHELF_THREADS: "1", DECKSHELF_LANES: "1", DECKSHELF_LOG: "warn" };
  const cluster = await Cluster.start({ apis: 1, workers }, 1, env);
  try {
    const work = (count: number): Promise<string[]> =>
      Promise.all(
        Array.from({ length: count }, (_, i) => cluster.submit("/api/days/ordinary-day/draw", { iterations, seed: i })),
      );
    // Warm: the first drawing of a thread is mostly compiling.
    await cluster.settle(await work(2 * workers), 600_000);
    const started = performance.now();
    await cluster.settle(await work(jobs), 600_000);
    return performance.now() - started;
  } finally {
    await cluster.stop();
  }
}

/** 1 and 2 real workers on this machine's cores, then 1 to 64 workers whose solvers sleep. Needs DECKSHELF_IDLE=on. */
export async function benchWorkers(counts: readonly number[]): Promise<void> {
  const drawings: string[][] = [];
  let one = 0;
  for (const workers of [1, 2]) {
    const elapsed = await drawing(workers, 12, 100);
    one ||= elapsed;
    drawings.push([String(workers), "12", (elapsed / 1000).toFixed(1), (one / elapsed).toFixed(2)]);
  }
  process.stdout.write(
    `${loadText()}\n${table(["worker processes", "drawings", "s", "times one worker"], drawings)}\n`,
  );
  const redis = await TestRedis.start();
  const rows: string[][] = [];
  let first = 0;
  for (const workers of counts) {
    const elapsed = await sleeping(redis, workers);
    first ||= elapsed;
    const ideal = (PARTS * PART_MS) / workers;
    rows.push([
      String(workers),
      ideal.toFixed(0),
      elapsed.toFixed(0),
      (first / elapsed).toFixed(1),
      (((elapsed - ideal) * workers) / PARTS).toFixed(1),
    ]);
  }
  await redis.remove();
  const header = ["sleeping workers", "ideal ms", "ms", "times one worker", "overhead ms a part and worker"];
  process.stdout.write(`${loadText()}\n${table(header, rows)}`);
}
