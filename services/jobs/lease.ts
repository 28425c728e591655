import type { Timetable } from "../../schemas/index.js";
import type { Events } from "../events/events.js";
import type { RunProgress } from "../operations/operation.js";
import type { RunOptions } from "../solving/pool.js";
import type { Store } from "../store/store.js";
import { type Job, jobKeys } from "./job.js";
import type { Signal } from "./signals.js";

/** The job was given to another worker, or ended, while this one was away. */
export class LeaseLost extends Error {}

interface LeaseParts {
  readonly store: Store;
  readonly events: Events;
  readonly name: string;
  readonly heartbeatMs: number;
}

/**
 * A worker's right to a job: a record that it rewrites with every heartbeat. Its revision is the fencing token: the commit that ends the job needs it
 * unchanged, so a worker that was thought dead and comes back can do no harm. No clocks are compared between machines.
 */
export class Lease {
  private readonly stopping = new AbortController();
  private readonly cancelling = new AbortController();
  private readonly unsubscribe: () => void;
  private readonly timer: NodeJS.Timeout;
  private beating: Promise<void> | undefined;
  private progress: RunProgress | undefined;
  private settled = false;
  private lost = false;

  constructor(
    private readonly parts: LeaseParts,
    private readonly job: Job,
    public revision: number,
  ) {
    this.unsubscribe = parts.events.subscribe(`stop:${job.id}`, (wish) => this.obey(wish as Signal));
    this.timer = setInterval(() => this.beat(), parts.heartbeatMs);
    // A wish that came before this worker listened.
    void this.listen().catch(() => undefined);
  }

  get isOver(): boolean {
    return this.lost;
  }

  stop(): void {
    this.stopping.abort();
  }

  cancel(): void {
    this.cancelling.abort();
  }

  /** For the run: reports go to whoever listens, and signals reach it. */
  runOptions(): RunOptions {
    const channels = [this.job.id, ...(this.job.parent ? [this.job.parent] : [])].map((id) => `job:${id}`);
    const send = (message: object): void => {
      for (const channel of channels) this.parts.events.publish(channel, message);
    };
    return {
      signal: this.stopping.signal,
      cancel: this.cancelling.signal,
      onProgress: (progress) => {
        this.progress = progress;
        send({ progress });
      },
      onTimetable: (timetable: Timetable) => send({ timetable }),
    };
  }

  /** No more heartbeats: from now on `revision` stays. Throws LeaseLost when it is somebody else's. */
  async settle(): Promise<void> {
    this.settled = true;
    clearInterval(this.timer);
    await this.beating;
    if (this.lost) throw new LeaseLost();
  }

  async release(): Promise<void> {
    this.settled = true;
    clearInterval(this.timer);
    this.unsubscribe();
    await this.beating;
  }

  private obey(wish: Signal): void {
    if (wish.cancel) this.cancelling.abort();
    else if (wish.stop) this.stopping.abort();
  }

  private beat(): void {
    if (this.settled || this.beating) return;
    this.beating = this.renew()
      // The store cannot be reached: go on, and let the last commit decide.
      .catch(() => undefined)
      .finally(() => {
        this.beating = undefined;
      });
  }

  private async renew(): Promise<void> {
    const { store, name } = this.parts;
    const key = jobKeys.lease(this.job.id);
    const value = JSON.stringify({ worker: name, ...(this.progress ? { progress: this.progress } : {}) });
    const result = await store.commit({
      checks: [{ key, revision: this.revision }],
      puts: [{ key, value }],
      deletes: [],
    });
    if ("conflict" in result) {
      this.lost = true;
      this.cancelling.abort();
      return;
    }
    this.revision = result.revision;
    await this.listen();
  }

  private async listen(): Promise<void> {
    const wish = await this.parts.store.get(jobKeys.signal(this.job.id));
    if (wish) this.obey(JSON.parse(wish.value) as Signal);
  }
}
