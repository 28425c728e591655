import type { DocumentName } from "../../schemas/index.js";
import type { Texts } from "../days/texts.js";
import type { Told } from "../marks/told.js";
import type { QueueMessage } from "../queue/queue.js";
import type { Transaction } from "../store/transact.js";
import { type Job, type JobState, jobKeys } from "./job.js";

/** What a job works on. */
export interface JobInput {
  /** JSON text. */
  readonly request: string;
  /** Documents that came with the request; else the day's, at the versions that the job names. */
  readonly texts?: Texts;
  /** What stations had marked when it was asked. */
  readonly told?: Told;
}

export interface NewJob {
  readonly id: string;
  readonly operation: string;
  readonly day?: string;
  readonly versions?: Readonly<Partial<Record<DocumentName, number>>>;
  readonly owner: string;
  readonly rank: number;
  readonly seconds: number;
  readonly parent?: string;
  readonly input: JobInput;
}

/** Puts a waiting job on the list of what is to be sent to the queue. */
export function sendOut(tx: Transaction, job: Job): void {
  const ticket = `${job.id}.${job.turn}`;
  const message: QueueMessage = { job: job.id, ticket, rank: job.rank };
  tx.put(jobKeys.outbox(ticket), message);
}

/** Makes a job wait for a worker, and in the same commit sends it out. */
export function makeWait(tx: Transaction, job: Job): Job {
  const waiting: Job = { ...job, state: "waiting", turn: job.turn + 1 };
  tx.put(jobKeys.job(job.id), waiting);
  sendOut(tx, waiting);
  return waiting;
}

/** Adds a job to a commit: with it the job is accepted, and nothing but the store can lose it. */
export function accept(tx: Transaction, fresh: NewJob, at: string): Job {
  const { input, ...rest } = fresh;
  const job = makeWait(tx, { ...rest, state: "waiting", attempt: 0, turn: 0, createdAt: at });
  tx.expect(jobKeys.job(job.id), 0);
  tx.put(jobKeys.input(job.id), input);
  tx.put(jobKeys.active(job.owner, job.id), { rank: job.rank });
  if (job.parent === undefined) tx.put(jobKeys.listed(job.day, job.id), {});
  return job;
}

/** Ends a job inside a commit, and wakes its parent when it was the last of its parts. */
export async function end(tx: Transaction, job: Job, state: JobState, more: Partial<Job>, at: string): Promise<Job> {
  const ended: Job = { ...job, ...more, state, finishedAt: at };
  tx.put(jobKeys.job(job.id), ended);
  tx.delete(jobKeys.lease(job.id));
  tx.delete(jobKeys.signal(job.id));
  if (job.parts) tx.delete(jobKeys.left(job.id));
  tx.delete(jobKeys.active(job.owner, job.id));
  if (job.parent !== undefined) await wakeParent(tx, job.parent);
  return ended;
}

/** A part ends once, so the count is right; one small record, so that many parts may end at the same time. */
async function wakeParent(tx: Transaction, id: string): Promise<void> {
  const parent = await tx.get<Job>(jobKeys.job(id));
  if (parent?.state !== "gathering") return;
  const left = ((await tx.get<number>(jobKeys.left(id))) ?? 1) - 1;
  if (left > 0) {
    tx.put(jobKeys.left(id), left);
    return;
  }
  tx.delete(jobKeys.left(id));
  makeWait(tx, parent);
}
