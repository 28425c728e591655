import type { Happening, Happenings, Timetable } from "../../../schemas/index.js";
import type { JobInput } from "../../jobs/accepting.js";
import { isFinal, type Job, jobKeys } from "../../jobs/job.js";
import { type Signal, signal, tellWorkers } from "../../jobs/signals.js";
import { isMarked } from "../../marks/mark.js";
import { withMarks } from "../../marks/told.js";
import { Problem } from "../../problem.js";
import { command } from "../command.js";
import { streamJob } from "../job-stream.js";
import type { Asked, Reply, Route } from "../route.js";
import { putInForce } from "../saving.js";
import { ref } from "../schemas.js";

export async function jobNamed(asked: Asked, id: string): Promise<Job> {
  const record = await asked.services.store.get(jobKeys.job(id));
  if (!record) throw new Problem("not-found", `There is no job ${id}.`);
  return JSON.parse(record.value) as Job;
}

async function wish(asked: Asked, action: string, wanted: Signal): Promise<Reply> {
  const id = asked.params.job!;
  let told: Job | undefined;
  const reply = await command(asked, action, id, async (tx) => {
    const before = await tx.get<Job>(jobKeys.job(id));
    if (!before) throw new Problem("not-found", `There is no job ${id}.`);
    if (isFinal(before)) throw new Problem("job-over", `The job ${id} is ${before.state}.`);
    told = await signal(tx, id, wanted, asked.at);
    return { status: 202, json: told };
  });
  if (told) {
    tellWorkers(asked.services.events, told, wanted);
    if (isFinal(told)) asked.services.events.publish(`job:${id}`, { state: told.state });
  }
  asked.services.relay.kick();
  return reply;
}

/** The happenings that a job took from what stations had marked; undefined when it took the day's as they are. Reports of what is gone are dealt with. */
async function toldTo(
  { services }: Asked,
  job: Job,
  timetable: Timetable | undefined,
): Promise<Happenings | undefined> {
  const record = await services.store.get(jobKeys.input(job.id));
  const { told } = record ? (JSON.parse(record.value) as JobInput) : {};
  if (!told) return undefined;
  const day = await services.days.documentsOf(job);
  const { happenings } = withMarks(day, told);
  if (happenings === day.happenings) return undefined;
  const tasks = new Set(timetable?.tasks.map(({ id }) => id));
  const isGone = (one: Happening): boolean => isMarked(one) && "task" in one && !tasks.has(one.task as string);
  return { ...happenings, happenings: happenings.happenings.filter((one) => !isGone(one)) };
}

export const jobRoutes: readonly Route[] = [
  {
    id: "listJobs",
    method: "GET",
    path: "/api/jobs",
    tag: "Jobs",
    summary: "Jobs, the newest first",
    role: "viewer",
    query: {
      day: {
        type: "string",
        pattern: "^[a-z0-9][a-z0-9-]{0,62}$",
        description: "Of this day; else those of no stored day.",
      },
      before: { type: "string", pattern: "^[0-9a-z]{26}$", description: "Only jobs older than this one." },
      limit: { type: "integer", minimum: 1, maximum: 200, default: 50 },
    },
    answers: {
      200: {
        description: "Without their parts.",
        schema: { type: "object", required: ["jobs"], properties: { jobs: { type: "array", items: ref("Job") } } },
      },
    },
    handle: async ({ services, query }) => {
      const { day, before, limit } = query as { day?: string; before?: string; limit: number };
      const prefix = jobKeys.listedOf(day);
      const index = await services.store.list(prefix, {
        backwards: true,
        limit,
        ...(before === undefined ? {} : { after: jobKeys.listed(day, before) }),
      });
      const records = await services.store.getMany(index.map(({ key }) => jobKeys.job(key.slice(prefix.length))));
      return { status: 200, json: { jobs: records.flatMap((record) => (record ? [JSON.parse(record.value)] : [])) } };
    },
  },
  {
    id: "readJob",
    method: "GET",
    path: "/api/jobs/{job}",
    tag: "Jobs",
    summary: "A job",
    role: "viewer",
    answers: { 200: { description: "How it stands.", schema: ref("Job") } },
    handle: async (asked) => {
      const job = await jobNamed(asked, asked.params.job!);
      return { status: 200, json: job };
    },
  },
  {
    id: "readResult",
    method: "GET",
    path: "/api/jobs/{job}/result",
    tag: "Jobs",
    summary: "What a job answered",
    about: "409 until it is done; the answer's form is that of the operation.",
    role: "viewer",
    answers: { 200: { description: "The operation's answer.", schema: { type: "object" } } },
    handle: async (asked) => {
      const job = await jobNamed(asked, asked.params.job!);
      if (job.state === "failed") throw new Problem("job-failed", job.fault?.detail ?? "", { job: job.id });
      if (job.state === "cancelled") throw new Problem("gone", `The job ${job.id} was cancelled.`);
      if (job.state !== "done")
        throw new Problem("job-not-ready", `The job ${job.id} is ${job.state}.`, {}, { "Retry-After": "1" });
      const record = await asked.services.store.get(jobKeys.result(job.id));
      if (!record) throw new Problem("gone", "The parts of a job that was gathered keep no result.");
      return { status: 200, type: "application/json", text: record.value };
    },
  },
  {
    id: "followJob",
    method: "GET",
    path: "/api/jobs/{job}/events",
    tag: "Jobs",
    summary: "Follow a job as server-sent events",
    about:
      "Events: `job` (the job, first and whenever its state changes; after a final one the stream ends), `progress` (phase, tries, cost, bound, gap, late, short; from a job with parts the best of them) and `timetable` (the best so far). A slow reader misses progress, never the end.",
    role: "viewer",
    answers: { 200: { description: "The stream.", types: { "text/event-stream": { type: "string" } } } },
    handle: async (asked) => {
      const job = await jobNamed(asked, asked.params.job!);
      return { status: 200, stream: (response) => streamJob(asked.services, job, response) };
    },
  },
  {
    id: "stopJob",
    method: "POST",
    path: "/api/jobs/{job}/stop",
    tag: "Jobs",
    summary: "Stop a job and keep the best so far",
    role: "planner",
    answers: { 202: { description: "It was told.", schema: ref("Job") } },
    handle: (asked) => wish(asked, "stop-job", { stop: true }),
  },
  {
    id: "cancelJob",
    method: "POST",
    path: "/api/jobs/{job}/cancel",
    tag: "Jobs",
    summary: "Give a job up",
    role: "planner",
    answers: { 202: { description: "It was told.", schema: ref("Job") } },
    handle: (asked) => wish(asked, "cancel-job", { cancel: true }),
  },
  {
    id: "takeResult",
    method: "POST",
    path: "/api/days/{day}/in-force",
    tag: "Documents",
    summary: "Put the timetable of a job in force",
    about:
      "The verifier checks it against the documents as they are now. If-Match with the ETag of the timetable that was in force, If-None-Match: * when there was none.",
    role: "planner",
    headers: { "If-Match": "The ETag of the timetable in force." },
    body: {
      kind: "json",
      schema: {
        type: "object",
        additionalProperties: false,
        required: ["job"],
        properties: { job: { type: "string", pattern: "^[0-9a-z]{26}$" }, note: { type: "string", maxLength: 200 } },
      },
    },
    answers: { 200: { description: "In force.", schema: ref("Day"), headers: { ETag: "Of the timetable." } } },
    handle: async (asked) => {
      const { job: id, note } = asked.body as { job: string; note?: string };
      const job = await jobNamed(asked, id);
      const record = job.state === "done" ? await asked.services.store.get(jobKeys.result(id)) : undefined;
      if (!record) throw new Problem("job-not-ready", `The job ${id} is ${job.state}.`);
      // What stations had marked, and wishes that a planner gave with the request, go into the happenings: the timetable is sound with them.
      const result = JSON.parse(record.value) as { timetable?: Timetable; happenings?: unknown };
      const { timetable, happenings = await toldTo(asked, job, result.timetable) } = result;
      if (timetable === undefined)
        throw new Problem("bad-request", `The job ${id} (${job.operation}) makes no timetable.`);
      const day = await asked.services.days.record(asked.params.day!);
      if (happenings !== undefined && job.versions?.happenings !== day.versions.happenings)
        throw new Problem("changed-meanwhile", "The happenings changed since the job was asked; ask again.");
      const bundle = JSON.stringify({ timetable, ...(happenings === undefined ? {} : { happenings }) });
      return putInForce(asked, day.id, bundle, note ?? `${job.operation} ${id}`);
    },
  },
];
