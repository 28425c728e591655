import { randomUUID } from "node:crypto";
import { createConnection, createServer, type Server, type Socket } from "node:net";
import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { isFinal, type Job, jobKeys } from "../../services/jobs/job.js";
import { RedisStore } from "../../services/store/redis.js";
import { verify } from "../../solver/index.js";
import { createRng } from "../../solver/rng.js";
import { randomDay } from "../days/random-day.js";
import { TestRedis } from "./redis.js";
import { type RunningProcess, startProcess } from "./server.js";

/** A line that can be cut: connections end, or hang as if a cable were pulled. */
export class Line {
  private readonly sockets = new Set<Socket>();
  private state: "open" | "refusing" | "hanging" = "open";
  private readonly server: Server;
  port = 0;

  constructor(private target: number) {
    this.server = createServer((near) => {
      if (this.state === "refusing") return near.destroy();
      const far = createConnection(this.target, "127.0.0.1");
      for (const [from, to] of [
        [near, far],
        [far, near],
      ] as const) {
        this.sockets.add(from);
        from.on("data", (data) => {
          if (this.state === "open") to.write(data);
        });
        from.on("error", () => undefined);
        from.on("close", () => {
          this.sockets.delete(from);
          to.destroy();
        });
      }
      return undefined;
    });
  }

  async open(): Promise<this> {
    await new Promise<void>((resolve) => this.server.listen(0, "127.0.0.1", resolve));
    this.port = (this.server.address() as { port: number }).port;
    return this;
  }

  cut(how: "refusing" | "hanging"): void {
    this.state = how;
    if (how === "refusing") for (const socket of this.sockets) socket.destroy();
  }

  mend(): void {
    // What was swallowed is gone, so what hung cannot go on.
    if (this.state === "hanging") for (const socket of this.sockets) socket.destroy();
    this.state = "open";
  }

  /** Leads elsewhere from now on, as a name does that is given to another machine. */
  turnTo(target: number): void {
    this.target = target;
    for (const socket of this.sockets) socket.destroy();
  }

  close(): void {
    for (const socket of this.sockets) socket.destroy();
    this.server.close();
  }
}

export const pause = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));

/** What was asked for: to be compared with what is there in the end. */
export interface Accepted {
  readonly id: string;
  readonly day?: DayDocuments;
}

export interface Found {
  readonly jobs: number;
  readonly begunAgain: number;
}

const ENV = {
  PORT: "0",
  DECKSHELF_IDLE: "on",
  DECKSHELF_LEASE_SECONDS: "2",
  DECKSHELF_LANES: "2",
  DECKSHELF_THREADS: "2",
  DECKSHELF_LOG: "info",
  DECKSHELF_DEMO: "on",
  DECKSHELF_DRAIN_SECONDS: "1",
};

/** Servers and workers as real processes on a real Redis. */
export class Cluster {
  readonly apis: { process: RunningProcess; url: string }[] = [];
  readonly workers: RunningProcess[] = [];
  /** All that ever ran: their output tells who did what. */
  private readonly all: RunningProcess[] = [];
  readonly accepted = new Map<string, Accepted>();
  readonly rng;

  private constructor(
    /** The one in which the records are now. */
    public redis: TestRedis,
    readonly line: Line,
    seed: number,
  ) {
    this.rng = createRng(seed);
  }

  static async start(
    counts: { apis: number; workers: number },
    seed = 1,
    env: NodeJS.ProcessEnv = {},
  ): Promise<Cluster> {
    const redis = await TestRedis.start();
    const cluster = new Cluster(redis, await new Line(redis.port).open(), seed);
    for (let i = 0; i < counts.apis; i++) await cluster.startApi(env);
    for (let i = 0; i < counts.workers; i++) await cluster.startWorker(env);
    return cluster;
  }

  below(limit: number): number {
    return this.rng.below(limit);
  }

  async startApi(env: NodeJS.ProcessEnv = {}): Promise<void> {
    const process = startProcess(["dist/services/api-main.js"], { ...ENV, REDIS_URL: this.redis.url, ...env });
    this.all.push(process);
    const [, url] = await process.until(/Deck & Shelf: (http:\S+)/);
    this.apis.push({ process, url: url! });
  }

  /** Workers reach Redis over the line that can be cut. */
  async startWorker(env: NodeJS.ProcessEnv = {}): Promise<void> {
    const REDIS_URL = `redis://127.0.0.1:${this.line.port}`;
    const process = startProcess(["dist/services/worker-main.js"], { ...ENV, REDIS_URL, ...env });
    this.all.push(process);
    await process.until(/Worker ready/);
    this.workers.push(process);
  }

  async kill(process: RunningProcess): Promise<void> {
    process.child.kill("SIGKILL");
    await process.ended;
  }

  /** Until a worker has a job in hand that it began and did not end; but not for ever. */
  async untilBusy(worker: RunningProcess): Promise<void> {
    const count = (text: string): number => worker.output().split(text).length;
    const until = Date.now() + 5000;
    while (count('"msg":"job began"') <= count('"msg":"job left this worker"') && Date.now() < until) await pause(5);
  }

  /** Sends a command until somebody answers for it, always under the same key, as a client must. */
  async send(method: string, path: string, body: unknown, headers: Record<string, string> = {}): Promise<Response> {
    const key = randomUUID();
    for (let tries = 0; ; tries++) {
      const { url } = this.apis[(this.below(this.apis.length) + tries) % this.apis.length]!;
      try {
        const response = await fetch(url + path, {
          method,
          body: JSON.stringify(body),
          headers: { "Content-Type": "application/json", "Idempotency-Key": key, ...headers },
          signal: AbortSignal.timeout(10_000),
        });
        if (response.status < 500 && response.status !== 429) return response;
        await response.arrayBuffer();
      } catch {
        // No answer: it may have been done; the key makes asking again safe.
      }
      if (tries > 500) throw new Error(`nobody answered ${method} ${path}`);
      await pause(30);
    }
  }

  async submit(path: string, body: unknown, day?: DayDocuments): Promise<string> {
    const response = await this.send("POST", path, body);
    const job = (await response.json()) as Job;
    if (response.status !== 202) throw new Error(`${response.status} ${JSON.stringify(job)}`);
    this.accepted.set(job.id, { id: job.id, ...(day ? { day } : {}) });
    return job.id;
  }

  /** Some work of every kind: drawings of small days, whole and in parts with seeds of their own, waiting, waiting in parts. */
  async work(count: number, milliseconds = 300): Promise<string[]> {
    const jobs = Array.from({ length: count }, (_, i) => {
      if (i % 3 === 0) {
        const day = randomDay(this.below(1_000_000), "tiny");
        const { inForce, ...rest } = day;
        const documents = inForce === undefined ? rest : { ...rest, timetable: inForce };
        const request = i % 2 === 0 ? { iterations: 10 } : { seconds: 0.2 };
        return this.submit("/api/draw", { documents, request }, day);
      }
      const parts = i % 3 === 1 ? 1 : 2;
      return this.submit("/api/days/ordinary-day/idle", { milliseconds: 100 + this.below(milliseconds), parts });
    });
    return Promise.all(jobs);
  }

  store(): RedisStore {
    return new RedisStore(this.redis.url);
  }

  /** Waits until all are final. Looks at the oldest of those that are not, so that looking does not become the load. */
  async settle(ids: readonly string[], mostMs = 90_000): Promise<void> {
    const store = this.store();
    const until = Date.now() + mostMs;
    let open = [...ids];
    try {
      while (open.length > 0) {
        const some = open.slice(0, 100);
        const records = await store.getMany(some.map(jobKeys.job)).catch(() => []);
        const isOver = (i: number): boolean => records[i] !== undefined && isFinal(JSON.parse(records[i].value) as Job);
        const left = some.filter((_, i) => !isOver(i));
        open = [...left, ...open.slice(100)];
        if (open.length > 0 && Date.now() > until)
          throw new Error(`${open.length} not over: ${records.find((_, i) => !isOver(i))?.value}\n${this.tail()}`);
        if (left.length > 0) await pause(100);
      }
    } finally {
      await store.close();
    }
  }

  tail(): string {
    return this.all.map((process) => process.output().slice(-1500)).join("\n----\n");
  }

  /** Looks at everything that a fault could have hurt; throws at the first thing that is wrong. */
  async inspect(ids: readonly string[]): Promise<Found> {
    const store = this.store();
    try {
      let begunAgain = 0;
      for (const id of ids) {
        const job = JSON.parse((await store.get(jobKeys.job(id)))!.value) as Job;
        if (job.state !== "done") throw new Error(`${id} is ${job.state}: ${JSON.stringify(job)}`);
        if (job.attempt > (job.parts ? 2 : 1)) begunAgain++;
        const result = JSON.parse((await store.get(jobKeys.result(id)))!.value) as { timetable?: Timetable };
        const { day } = this.accepted.get(id)!;
        const breaches = day ? verify(day, result.timetable!) : [];
        if (breaches.length > 0) throw new Error(`the verifier refuses what ${id} stored: ${breaches[0]!.message}`);
      }
      await this.mustBecomeEmpty(store, ["active/", "lease/", "signal/", "outbox/", "left/"]);
      const listed = await store.list(jobKeys.listedOf(undefined), { limit: 100_000 });
      const listedOfDay = await store.list(jobKeys.listedOf("ordinary-day"), { limit: 100_000 });
      if (listed.length + listedOfDay.length !== this.accepted.size)
        throw new Error(`${listed.length + listedOfDay.length} jobs in the store, ${this.accepted.size} accepted`);
      const twice = this.doneTwice();
      if (twice.length > 0) throw new Error(`done twice: ${twice.join(", ")}`);
      return { jobs: ids.length, begunAgain };
    } finally {
      await store.close();
    }
  }

  /** Jobs that workers say they brought to their end more than once. */
  doneTwice(): string[] {
    const ends = new Map<string, number>();
    for (const { output } of this.all) {
      for (const line of output().split("\n")) {
        if (!line.includes('"state":"done"')) continue;
        const { job, msg } = JSON.parse(line) as { job: string; msg: string };
        if (msg === "job left this worker") ends.set(job, (ends.get(job) ?? 0) + 1);
      }
    }
    return [...ends].filter(([, count]) => count > 1).map(([job]) => job);
  }

  private async mustBecomeEmpty(store: RedisStore, prefixes: readonly string[]): Promise<void> {
    const until = Date.now() + 10_000;
    for (;;) {
      const left = (await Promise.all(prefixes.map((prefix) => store.list(prefix)))).flat();
      if (left.length === 0) return;
      if (Date.now() > until)
        throw new Error(`left behind: ${left.map(({ key, value }) => `${key} ${value}`).join(", ")}`);
      await pause(50);
    }
  }

  async stop(): Promise<void> {
    for (const { child } of this.all) child.kill("SIGKILL");
    await Promise.all(this.all.map(({ ended }) => ended));
    this.line.close();
    await this.redis.remove();
  }
}
