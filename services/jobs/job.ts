import type { DocumentName, Timetable } from "../../schemas/index.js";

/** waiting: for a worker. running: a worker has it. gathering: its parts run. The rest is final. */
export type JobState = "waiting" | "running" | "gathering" | "done" | "failed" | "cancelled";

export const FINAL_STATES: readonly JobState[] = ["done", "failed", "cancelled"];

/** Why a job failed, in the words of a problem document. */
export interface JobFault {
  readonly title: string;
  readonly detail: string;
}

/** What a list of jobs shows of a timetable. */
export interface TimetableFigures {
  readonly status: Timetable["status"];
  readonly cost: number;
  readonly bound?: number;
  readonly onTime: number;
  readonly late: number;
  readonly short: number;
}

export interface Job {
  readonly id: string;
  readonly operation: string;
  /** The stored day that it is about; none when the documents came with the request. */
  readonly day?: string;
  /** Versions of the day's documents that it works on. */
  readonly versions?: Readonly<Partial<Record<DocumentName, number>>>;
  /** Whose share of the queue it takes. */
  readonly owner: string;
  readonly state: JobState;
  /** How often a worker has begun it. */
  readonly attempt: number;
  /** How often it has begun to wait: names its message on the queue. */
  readonly turn: number;
  /** Of waiting: lower goes first. */
  readonly rank: number;
  readonly seconds: number;
  readonly createdAt: string;
  readonly startedAt?: string;
  readonly finishedAt?: string;
  readonly stopped?: boolean;
  readonly parent?: string;
  readonly parts?: readonly string[];
  readonly fault?: JobFault;
  readonly figures?: TimetableFigures;
}

export function isFinal(job: Job): boolean {
  return FINAL_STATES.includes(job.state);
}

export function figuresOf(timetable: Timetable): TimetableFigures {
  const count = (test: (order: Timetable["orders"][number]) => boolean): number => timetable.orders.filter(test).length;
  return {
    status: timetable.status,
    cost: timetable.cost.total,
    ...(timetable.bound === undefined ? {} : { bound: timetable.bound }),
    onTime: count((order) => order.state === "on-time"),
    late: count((order) => order.lateMinutes > 0),
    short: count((order) => order.shortPieces > 0),
  };
}

/** Keys of everything that belongs to jobs. */
export const jobKeys = {
  job: (id: string) => `job/${id}`,
  /** The request, and the day's documents when they came with it. */
  input: (id: string) => `input/${id}`,
  result: (id: string) => `result/${id}`,
  /** The newest timetable of a run that goes on. */
  lease: (id: string) => `lease/${id}`,
  signal: (id: string) => `signal/${id}`,
  /** How many parts of a job are not over. */
  left: (id: string) => `left/${id}`,
  /** Jobs that are not finished, by owner. */
  active: (owner: string, id: string) => `active/${owner}/${id}`,
  activeOf: (owner: string) => `active/${owner}/`,
  outbox: (ticket: string) => `outbox/${ticket}`,
  /** Jobs of a day and jobs of none, without their parts, by age. */
  listed: (day: string | undefined, id: string) => `jobs-of/${day ?? "-"}/${id}`,
  listedOf: (day: string | undefined) => `jobs-of/${day ?? "-"}/`,
} as const;
