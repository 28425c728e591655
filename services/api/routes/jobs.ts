import { isFinal, type Job, jobKeys } from "../../jobs/job.js";
import { type Signal, signal, tellWorkers } from "../../jobs/signals.js";
import type { Taken } from "../../marks/taken.js";
import { operationNamed } from "../../operations/index.js";
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

/** What a job found, with what it went by: read here, understood in the checker's thread. */
async function takenOf({ services }: Asked, job: Job): Promise<Taken> {
  const record = job.state === "done" ? await services.store.get(jobKeys.result(job.id)) : undefined;
  if (!record) throw new Problem("job-not-ready", `The job ${job.id} is ${job.state}.`);
  const result = record.value;
  if (operationNamed(job.operation)?.asItStands !== true || job.day === undefined) return { result };
  const input = await services.store.get(jobKeys.input(job.id));
  if (!input) return { result };
  return { result, told: { input: input.value, texts: await services.days.texts(job.day, job.versions!) } };
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
      const day = asked.params.day!;
      const job = await jobNamed(asked, id);
      if (job.day !== undefined && job.day !== day)
        throw new Problem("bad-request", `The job ${id} is about the day ${job.day}, not ${day}.`);
      const taken = await takenOf(asked, job);
      return putInForce(asked, day, taken, job.versions?.happenings, note ?? `${job.operation} ${id}`);
    },
  },
];
