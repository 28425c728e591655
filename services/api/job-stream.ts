import type { Response } from "express";
import type { Timetable } from "../../schemas/index.js";
import { isFinal, type Job, jobKeys } from "../jobs/job.js";
import type { RunProgress } from "../operations/operation.js";
import { mergeProgress } from "../solving/run.js";
import type { Services } from "./services.js";
import { EventStream } from "./sse.js";

/** News may be lost between processes, so the store is asked as well. */
const LOOK_MS = 2000;

interface JobMessage {
  readonly progress?: RunProgress;
  readonly timetable?: Timetable;
  readonly state?: string;
  readonly part?: string;
}

/** Sends a job's state, progress and timetables until it is over. */
export function streamJob(services: Services, first: Job, response: Response): void {
  let shown = "";
  let asking = false;
  const show = (job: Job): void => {
    const key = `${job.state} ${job.attempt} ${job.stopped === true}`;
    if (key === shown) return;
    shown = key;
    stream.send("job", job);
    if (isFinal(job)) stream.end();
  };
  const look = async (): Promise<void> => {
    if (asking) return;
    asking = true;
    try {
      const record = await services.store.get(jobKeys.job(first.id));
      if (record) show(JSON.parse(record.value) as Job);
      else stream.end();
      // After a restart of the server nobody publishes to this stream; the lease has the latest progress.
      const lease = await services.store.get(jobKeys.lease(first.id));
      const { progress } = lease ? (JSON.parse(lease.value) as { progress?: RunProgress }) : {};
      if (progress) report(progress);
    } catch {
      // The store is away; the next look may find it.
    } finally {
      asking = false;
    }
  };
  const stream = new EventStream(response, () => {
    clearInterval(timer);
    unsubscribe();
  });
  let newest = 0;
  let bestCost = Number.POSITIVE_INFINITY;
  const report = mergeProgress((progress) => {
    const elapsed = progress.elapsedMs ?? 0;
    if (elapsed < newest) return;
    newest = elapsed;
    stream.send("progress", progress, true);
  });
  const unsubscribe = services.events.subscribe(`job:${first.id}`, (message) => {
    const { progress, timetable, state } = message as JobMessage;
    if (progress) report(progress);
    // Of several parts only what is better than all before.
    if (timetable !== undefined && timetable.cost.total < bestCost) {
      bestCost = timetable.cost.total;
      stream.send("timetable", timetable, true);
    }
    if (state !== undefined) void look();
  });
  const timer = setInterval(() => void look(), LOOK_MS);
  show(first);
  if (!isFinal(first)) void look();
}
