import type { Timetable } from "../../../schemas/index.js";
import { readEvents } from "./events.js";
import { ask, sendJson } from "./http.js";
import { BoardError, type DrawNews } from "./types.js";

interface Job {
  readonly id: string;
  readonly state: "waiting" | "running" | "gathering" | "done" | "failed" | "cancelled";
  readonly fault?: { readonly title: string; readonly detail: string };
}

export interface Run<T> {
  readonly job: string;
  /** Ends the search and keeps what it has. */
  stop(): Promise<void>;
  readonly done: Promise<T>;
}

export interface Listener {
  readonly onNews?: (news: DrawNews) => void;
  /** The best timetable so far, sound but without reasons for what is late. */
  readonly onTimetable?: (timetable: Timetable) => void;
}

/** Asks the server to do something long about a day, follows its news, and gives its answer. */
export async function run<T>(
  day: string,
  operation: string,
  request: unknown,
  listener: Listener = {},
): Promise<Run<T>> {
  const { body: job } = await sendJson<Job>("POST", `/api/days/${encodeURIComponent(day)}/${operation}`, request);
  return joinRun(job.id, listener);
}

/** A job that is already on its way. */
export function joinRun<T>(id: string, listener: Listener = {}): Run<T> {
  return {
    job: id,
    stop: async () => void (await sendJson("POST", `/api/jobs/${id}/stop`)),
    done: follow<T>(id, listener),
  };
}

/** News are for show and may be missed; whether the job is done is asked of the job itself. */
async function follow<T>(id: string, listener: Listener): Promise<T> {
  for (;;) {
    try {
      await readEvents(`/api/jobs/${id}/events`, ({ type, data }) => {
        if (type === "progress") listener.onNews?.(JSON.parse(data) as DrawNews);
        else if (type === "timetable") listener.onTimetable?.(JSON.parse(data) as Timetable);
      });
    } catch {
      // The line broke; the job goes on.
    }
    const { body: job } = await ask<Job>(`/api/jobs/${id}`);
    if (job.state === "done") return (await ask<T>(`/api/jobs/${id}/result`)).body;
    if (job.state === "failed" || job.state === "cancelled")
      throw new BoardError(
        job.fault?.detail ?? (job.state === "cancelled" ? "The search was cancelled." : "The search failed."),
      );
    await new Promise((resolve) => setTimeout(resolve, 700));
  }
}

/** The same with documents that come along and are not stored. */
export async function runWith<T>(
  operation: string,
  documents: unknown,
  request: unknown,
  listener: Listener = {},
): Promise<Run<T>> {
  const { body: job } = await sendJson<Job>("POST", `/api/${operation}`, { documents, request });
  return joinRun(job.id, listener);
}

/** An operation that answers at once. */
export async function askNow<T>(day: string, operation: string, request: unknown): Promise<T> {
  return (await sendJson<T>("POST", `/api/days/${encodeURIComponent(day)}/${operation}`, request)).body;
}
