import type { Queue, QueueMessage } from "../queue/queue.js";
import type { Store } from "../store/store.js";
import { transact } from "../store/transact.js";
import { makeWait, sendOut } from "./accepting.js";
import { type Job, jobKeys } from "./job.js";

export interface RelayTimes {
  /** Between looks at the outbox when nobody kicks. */
  readonly outboxMs: number;
  /** Between looks at leases and lost messages. */
  readonly sweepMs: number;
  /** A lease that has not moved for so long, by this process's own steady clock, belongs to a dead worker. */
  readonly leaseMs: number;
}

/** More beginnings than this, each ending with a dead worker: the job itself is what kills them. */
export const MOST_ATTEMPTS = 5;
/** Whoever was in hand when a worker died goes behind all others: on a bad night the deaths are then not always those of the same few, which would be given up though they did nothing. */
const BEHIND = 10_000;

/**
 * Moves jobs from the store to the queue, and brings back those whose worker died or whose message was lost. Every process runs one; they do the same
 * things without harm, because messages have tickets and each change is conditional.
 */
export class Relay {
  private readonly leases = new Map<string, { revision: number; since: number }>();
  private timers: NodeJS.Timeout[] = [];
  private moving: Promise<void> | undefined;
  private again = false;
  private closed = false;
  private missing = 0;
  private sweeping = false;
  private looked = 0;

  constructor(
    private readonly store: Store,
    private readonly queue: Queue,
    private readonly times: RelayTimes,
    private readonly onError: (error: unknown) => void = () => undefined,
  ) {}

  /** Sends what waits, at once and from now on. */
  start(): void {
    this.kick();
    void this.resend().catch(this.onError);
    this.timers = [
      setInterval(() => this.kick(), this.times.outboxMs),
      setInterval(() => void this.sweep().catch(this.onError), this.times.sweepMs),
    ];
  }

  /** Something was put in the outbox. */
  kick(): void {
    if (this.closed) return;
    if (this.moving) {
      this.again = true;
      return;
    }
    this.moving = this.move()
      .catch(this.onError)
      .finally(() => {
        this.moving = undefined;
        if (this.again) {
          this.again = false;
          this.kick();
        }
      });
  }

  async close(): Promise<void> {
    this.closed = true;
    for (const timer of this.timers) clearInterval(timer);
    await this.moving;
  }

  private async move(): Promise<void> {
    for (;;) {
      const entries = await this.store.list("outbox/", { limit: 100 });
      if (entries.length === 0 || this.closed) return;
      for (const entry of entries) await this.queue.push(JSON.parse(entry.value) as QueueMessage);
      await this.store.commit({ checks: [], puts: [], deletes: entries.map((entry) => entry.key) });
    }
  }

  /** Looks for dead workers and lost messages. */
  async sweep(): Promise<void> {
    if (this.sweeping) return;
    this.sweeping = true;
    try {
      await this.reclaim();
      await this.lookForLost();
    } finally {
      this.sweeping = false;
    }
  }

  /**
   * Fewer messages than waiting jobs, three times in a row: between a push and the claim a message is on its way, not lost. Losses are rare (the queue's data
   * gone, the store's not), so this looks seldom.
   */
  private async lookForLost(): Promise<void> {
    const now = performance.now();
    if (now - this.looked < this.times.leaseMs) return;
    this.looked = now;
    const [active, held, depth] = await Promise.all([
      this.store.count("active/"),
      this.store.count("lease/"),
      this.queue.depth(),
    ]);
    this.missing = active - held > depth ? this.missing + 1 : 0;
    if (this.missing < 3) return;
    this.missing = 0;
    // Parents of running parts wait for no message: only a full look tells.
    if ((await this.waitingJobs()).length > depth) await this.resend();
  }

  private async waitingJobs(): Promise<Job[]> {
    const jobs: Job[] = [];
    let after: string | undefined;
    for (;;) {
      const page = await this.store.list("active/", { limit: 500, ...(after === undefined ? {} : { after }) });
      const ids = page.map(({ key }) => jobKeys.job(key.split("/").at(-1)!));
      for (const record of await this.store.getMany(ids)) {
        const job = record && (JSON.parse(record.value) as Job);
        if (job?.state === "waiting") jobs.push(job);
      }
      if (page.length < 500) return jobs;
      after = page.at(-1)!.key;
    }
  }

  /** Puts every waiting job on the queue; those that are there already are not put there twice. */
  private async resend(): Promise<void> {
    for (const job of await this.waitingJobs()) {
      if (this.closed) return;
      await transact(this.store, async (tx) => {
        const current = await tx.get<Job>(jobKeys.job(job.id));
        if (current?.state === "waiting") sendOut(tx, current);
      });
    }
    this.kick();
  }

  private async reclaim(): Promise<void> {
    const now = performance.now();
    const seen = new Set<string>();
    for (const { key, revision } of await this.store.list("lease/", { limit: 10_000 })) {
      const id = key.slice("lease/".length);
      seen.add(id);
      const before = this.leases.get(id);
      if (before?.revision !== revision) this.leases.set(id, { revision, since: now });
      else if (now - before.since > this.times.leaseMs) await this.takeBack(id, revision);
    }
    for (const id of this.leases.keys()) if (!seen.has(id)) this.leases.delete(id);
  }

  private async takeBack(id: string, leaseRevision: number): Promise<void> {
    await transact(this.store, async (tx) => {
      if ((await tx.revisionOf(jobKeys.lease(id))) !== leaseRevision) return;
      const job = await tx.get<Job>(jobKeys.job(id));
      tx.delete(jobKeys.lease(id));
      if (job?.state !== "running") return;
      makeWait(tx, { ...job, rank: job.rank + BEHIND });
    });
    this.leases.delete(id);
    this.kick();
  }
}
