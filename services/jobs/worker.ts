import type { DayDocuments } from "../../schemas/index.js";
import type { Breach } from "../../solver/index.js";
import type { Events } from "../events/events.js";
import { operationNamed } from "../operations/index.js";
import type { Operation, RunProgress } from "../operations/operation.js";
import type { Consumer, Queue, QueueMessage } from "../queue/queue.js";
import { Cancelled, type SolverPool } from "../solving/pool.js";
import { type Store, StoreUnavailable } from "../store/store.js";
import { TooBusy, transact } from "../store/transact.js";
import { accept, end, type JobInput, makeWait } from "./accepting.js";
import { figuresOf, type Job, type JobFault, jobKeys } from "./job.js";
import { Lease, LeaseLost } from "./lease.js";
import { MOST_ATTEMPTS } from "./relay.js";
import { Sharing } from "./sharing.js";
import type { Signal } from "./signals.js";
import { Solo } from "./solo.js";
import { moveOn } from "./turns.js";

/** What runs an operation: the pool of solver threads, or what stands in for it when the queue is measured. */
export type Solver = Pick<SolverPool, "size" | "run">;

export interface WorkerParts {
  readonly store: Store;
  readonly queue: Queue;
  readonly events: Events;
  readonly pool: Solver;
  /** The documents that a job works on. */
  readonly dayOf: (job: Job, input: JobInput) => Promise<DayDocuments>;
  /** Lanes that a big run is split into. */
  readonly lanes: number;
  readonly name: string;
  readonly heartbeatMs: number;
  /** Something in the outbox. */
  readonly kick: () => void;
  readonly watch: WorkerWatch;
}

/** What a worker tells the log and the metrics. */
export interface WorkerWatch {
  readonly began: (job: Job) => void;
  readonly ended: (job: Job, seconds: number) => void;
  /** A worker that had lost its lease came back with an answer: refused. */
  readonly fenced: (job: string) => void;
  readonly refused: (job: string, breaches: number) => void;
  readonly failed: (job: string, error: unknown) => void;
}

/** The verifier does not accept what the solver made. */
class Refused extends Error {
  constructor(readonly breaches: readonly Breach[]) {
    super(`the verifier refused the timetable: ${breaches[0]?.message ?? ""}`);
  }
}

const RETRY_MS = 300;

/** Retries while the store cannot be reached: what a worker has in hand is too dear to drop. */
async function persistently<T>(work: () => Promise<T>, giveUp: () => boolean): Promise<T> {
  for (;;) {
    try {
      return await work();
    } catch (error) {
      if (!(error instanceof StoreUnavailable || error instanceof TooBusy) || giveUp()) throw error;
      await new Promise((resolve) => setTimeout(resolve, RETRY_MS));
    }
  }
}

/** Takes jobs from the queue and does them in solver threads. */
export class JobWorker {
  private readonly consumer: Consumer;
  private readonly leases = new Set<Lease>();
  private readonly sharing = new Sharing();
  private readonly solo = new Solo();
  private closing = false;

  constructor(private readonly parts: WorkerParts) {
    this.consumer = parts.queue.consume((message) => this.handle(message), parts.pool.size);
  }

  /** Takes no more jobs; resolves when those in hand are done. With `stop` they stop and keep what they have. */
  async drain(stop: boolean): Promise<void> {
    if (stop) for (const lease of this.leases) lease.stop();
    await this.consumer.close();
  }

  /** Gives everything in hand back to the queue and ends. */
  async close(): Promise<void> {
    this.closing = true;
    for (const lease of this.leases) lease.cancel();
    await this.consumer.close();
  }

  private async handle(message: QueueMessage): Promise<void> {
    const record = await persistently(
      () => this.parts.store.get(jobKeys.job(message.job)),
      () => this.closing,
    );
    // Before it is claimed: while it waits to be alone it is nobody's, and a death then is not its own.
    const leave = await this.solo.enter(record !== undefined && isSuspect(JSON.parse(record.value) as Job));
    try {
      await this.take(message);
    } finally {
      leave();
    }
  }

  private async take(message: QueueMessage): Promise<void> {
    if (this.closing) return;
    const claimed = await persistently(
      () => this.claim(message),
      () => this.closing,
    );
    if (!claimed) return;
    const { job, lease } = claimed;
    this.leases.add(lease);
    const started = performance.now();
    this.parts.watch.began(job);
    try {
      const ended = await this.work(job, lease);
      if (ended) this.parts.watch.ended(ended, (performance.now() - started) / 1000);
    } catch (error) {
      if (error instanceof LeaseLost) this.parts.watch.fenced(job.id);
      else this.parts.watch.failed(job.id, error);
    } finally {
      await lease.release();
      this.leases.delete(lease);
      this.parts.kick();
    }
  }

  /** Makes the job this worker's, unless it is somebody's or done: so duplicates do no harm. */
  private async claim(message: QueueMessage): Promise<{ job: Job; lease: Lease } | undefined> {
    const { store, name } = this.parts;
    const { value: job, revision } = await transact(store, async (tx) => {
      const waiting = await tx.get<Job>(jobKeys.job(message.job));
      if (waiting?.state !== "waiting") return undefined;
      const at = new Date().toISOString();
      if (deathsOf(waiting) >= MOST_ATTEMPTS) {
        await end(tx, waiting, "failed", { fault: POISON }, at);
        return undefined;
      }
      const running: Job = { ...waiting, state: "running", attempt: waiting.attempt + 1, startedAt: at };
      tx.put(jobKeys.job(running.id), running);
      tx.put(jobKeys.lease(running.id), { worker: name });
      if (waiting.attempt === 0) moveOn(tx, running.rank);
      return running;
    });
    if (!job || revision === undefined) return undefined;
    return { job, lease: new Lease(this.parts, job, revision) };
  }

  private async work(job: Job, lease: Lease): Promise<Job | undefined> {
    const { lanes } = this.parts;
    const operation = operationNamed(job.operation);
    try {
      if (!operation) throw new Error(`this worker does not know the operation ${job.operation}`);
      const input = JSON.parse((await this.read(jobKeys.input(job.id), lease))!) as JobInput;
      const day = await persistently(
        () => this.parts.dayOf(job, input),
        () => lease.isOver,
      );
      const request = JSON.parse(input.request) as unknown;
      if (job.parts) return await this.gather(job, lease, operation, day, request);
      const requests = job.parent === undefined ? (operation.split?.(day, request, lanes) ?? [request]) : [request];
      if (requests.length > 1) return await this.split(job, lease, requests, input);
      const response = await this.sharing.during(job, operation, day, requests[0], (shared) =>
        this.parts.pool.run(job.operation, day, requests[0], { ...lease.runOptions(), ...shared }),
      );
      return await this.keep(job, lease, operation, day, response);
    } catch (error) {
      if (error instanceof LeaseLost) throw error;
      if (error instanceof Cancelled) return this.giveUp(job, lease);
      const fault = faultOf(error);
      if (error instanceof Refused) this.parts.watch.refused(job.id, error.breaches.length);
      return this.finish(job, lease, async (tx, at) => end(tx, job, "failed", { fault }, at));
    }
  }

  private read(key: string, lease: Lease): Promise<string | undefined> {
    return persistently(
      async () => (await this.parts.store.get(key))?.value,
      () => lease.isOver,
    );
  }

  /** Parts become jobs of their own in the commit that puts their parent to sleep. */
  private async split(job: Job, lease: Lease, requests: readonly unknown[], input: JobInput): Promise<Job> {
    return this.finish(job, lease, async (tx, at) => {
      const wish = await tx.get<Signal>(jobKeys.signal(job.id));
      if (wish?.cancel) return end(tx, job, "cancelled", {}, at);
      const parts = requests.map((_, i) => `${job.id}-${i + 1}`);
      requests.forEach((request, i) => {
        const { id, state, attempt, turn, createdAt, startedAt, ...rest } = job;
        accept(tx, { ...rest, id: parts[i]!, parent: id, input: { ...input, request: JSON.stringify(request) } }, at);
        if (wish) tx.put(jobKeys.signal(parts[i]!), wish);
      });
      const gathering: Job = { ...job, state: "gathering", parts, ...(wish?.stop ? { stopped: true } : {}) };
      tx.put(jobKeys.job(job.id), gathering);
      tx.put(jobKeys.left(job.id), parts.length);
      tx.delete(jobKeys.lease(job.id));
      return gathering;
    });
  }

  private async gather(
    job: Job,
    lease: Lease,
    operation: Operation,
    day: DayDocuments,
    request: unknown,
  ): Promise<Job> {
    const responses: unknown[] = [];
    let fault: JobFault | undefined;
    for (const part of job.parts ?? []) {
      const result = await this.read(jobKeys.result(part), lease);
      if (result !== undefined) responses.push(JSON.parse(result));
      else fault ??= (JSON.parse((await this.read(jobKeys.job(part), lease)) ?? "{}") as Job).fault;
    }
    if (responses.length === 0)
      return this.finish(job, lease, async (tx, at) =>
        end(tx, job, "failed", { fault: fault ?? { title: "No part ended well", detail: "" } }, at),
      );
    const response = operation.gather!(day, request, responses);
    return this.keep(job, lease, operation, day, response);
  }

  /** Nothing is stored that the verifier refuses. */
  private async keep(job: Job, lease: Lease, operation: Operation, day: DayDocuments, response: unknown): Promise<Job> {
    const made = operation.timetableOf?.(day, response);
    if (made) {
      const { breaches } = (await this.parts.pool.run("verify", made.day, { timetable: made.timetable })) as {
        breaches: readonly Breach[];
      };
      if (breaches.length > 0) throw new Refused(breaches);
    }
    const more: Partial<Job> = made ? { figures: figuresOf(made.timetable) } : {};
    return this.finish(job, lease, async (tx, at) => {
      tx.put(jobKeys.result(job.id), response);
      if (job.parts) for (const part of job.parts) tx.delete(jobKeys.result(part));
      const asked = await tx.get<Job>(jobKeys.job(job.id));
      return end(tx, job, "done", { ...more, ...(asked?.stopped ? { stopped: true } : {}) }, at);
    });
  }

  private async giveUp(job: Job, lease: Lease): Promise<Job | undefined> {
    if (!this.closing) return this.finish(job, lease, async (tx, at) => end(tx, job, "cancelled", {}, at));
    // The process ends, not the job: it waits again, and this beginning does not count.
    return this.finish(job, lease, async (tx) => {
      tx.delete(jobKeys.lease(job.id));
      return makeWait(tx, { ...job, attempt: job.attempt - 1 });
    });
  }

  /** The one commit that ends this worker's part in a job: refused when the lease is no longer its own. */
  private async finish(job: Job, lease: Lease, write: FinishWrite): Promise<Job> {
    await lease.settle();
    const ended = await persistently(
      async () =>
        transact(this.parts.store, async (tx) => {
          if ((await tx.revisionOf(jobKeys.lease(job.id))) !== lease.revision) throw new LeaseLost();
          return write(tx, new Date().toISOString());
        }),
      () => lease.isOver,
    );
    this.parts.events.publish(`job:${job.id}`, { state: ended.value.state });
    if (job.parent) this.parts.events.publish(`job:${job.parent}`, { part: job.id, state: ended.value.state });
    if (job.day && !job.parent) this.parts.events.publish(`day:${job.day}`, { job: job.id, state: ended.value.state });
    return ended.value;
  }
}

/** How many workers died with a waiting job in hand. That its parts were made was a good end. */
function deathsOf({ attempt, parts }: Job): number {
  return attempt - (parts ? 1 : 0);
}

/** From then on alone, so that it takes no other job with it, and none it. */
function isSuspect(waiting: Job): boolean {
  return deathsOf(waiting) >= 2;
}

type FinishWrite = (tx: Parameters<typeof end>[0], at: string) => Promise<Job>;

const POISON: JobFault = {
  title: "The workers that began this job did not survive it",
  detail: `It was begun ${MOST_ATTEMPTS} times and each worker ended before it was done. Ask for a smaller budget or less data; report it with the day's documents.`,
};

function faultOf(error: unknown): JobFault {
  if (error instanceof Refused) return { title: "The verifier refused the timetable", detail: error.message };
  const detail = error instanceof Error ? error.message : String(error);
  const isTheirs = error instanceof Error && error.name === "BadRequest";
  return { title: isTheirs ? "The request cannot be answered for this day" : "The solver failed", detail };
}

/** A report as it goes over the event stream. */
export interface ProgressMessage {
  readonly progress: RunProgress;
  readonly part?: string;
}
