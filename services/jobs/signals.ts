import type { Events } from "../events/events.js";
import type { Store } from "../store/store.js";
import { type Transaction, transact } from "../store/transact.js";
import { end } from "./accepting.js";
import { isFinal, type Job, jobKeys } from "./job.js";

/** stop: keep the best so far. cancel: give it up. */
export interface Signal {
  readonly stop?: boolean;
  readonly cancel?: boolean;
}

/** Asks a job, and its parts, to stop or to be given up, inside a commit. A final job stays as it is. */
export async function signal(tx: Transaction, id: string, wish: Signal, at: string): Promise<Job | undefined> {
  const job = await tx.get<Job>(jobKeys.job(id));
  if (!job || isFinal(job)) return job;
  if (wish.cancel && job.state !== "running") {
    const ended = await end(tx, job, "cancelled", {}, at);
    for (const part of job.parts ?? []) await signal(tx, part, wish, at);
    return ended;
  }
  const before = await tx.get<Signal>(jobKeys.signal(id));
  tx.put(jobKeys.signal(id), { ...before, ...wish });
  for (const part of job.parts ?? []) await signal(tx, part, wish, at);
  const asked: Job = wish.stop ? { ...job, stopped: true } : job;
  if (asked !== job) tx.put(jobKeys.job(id), asked);
  return asked;
}

/** Tells workers at once; those that do not hear it look at the store with their next heartbeat. */
export function tellWorkers(events: Events, job: Job, wish: Signal): void {
  for (const id of [job.id, ...(job.parts ?? [])]) events.publish(`stop:${id}`, wish);
}

export async function signalNow(store: Store, events: Events, id: string, wish: Signal): Promise<Job | undefined> {
  const { value } = await transact(store, (tx) => signal(tx, id, wish, new Date().toISOString()));
  if (value) tellWorkers(events, value, wish);
  return value;
}
