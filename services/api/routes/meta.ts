import { dayKeys } from "../../days/day.js";
import { PROBLEMS, Problem, type ProblemName } from "../../problem.js";
import type { Route } from "../route.js";
import { EventStream } from "../sse.js";

const OK = { type: "object", required: ["status"], properties: { status: { const: "ok" } } };

/** What every server tells of itself. */
export const metaRoutes: readonly Route[] = [
  {
    id: "readService",
    method: "GET",
    path: "/api",
    tag: "Server",
    summary: "What this server is, and who you are to it",
    role: "anybody",
    answers: {
      200: {
        description: "Name, version, your role.",
        schema: {
          type: "object",
          required: ["name", "version"],
          properties: {
            name: { type: "string" },
            version: { type: "string" },
            role: { enum: ["viewer", "station", "planner", "owner"] },
            sites: { type: "array", items: { type: "string" } },
            you: { type: "string" },
          },
        },
      },
    },
    handle: async ({ services, actor }) => ({
      status: 200,
      json: {
        name: "Deck & Shelf",
        version: services.version,
        ...(actor.id === "nobody" ? {} : { you: actor.name, role: actor.role }),
        ...(actor.sites && actor.id !== "nobody" ? { sites: actor.sites } : {}),
      },
    }),
  },
  {
    id: "readLive",
    method: "GET",
    path: "/health/live",
    tag: "Server",
    summary: "The process runs",
    role: "anybody",
    answers: { 200: { description: "It does.", schema: OK } },
    handle: async () => ({ status: 200, json: { status: "ok" } }),
  },
  {
    id: "readReady",
    method: "GET",
    path: "/health/ready",
    tag: "Server",
    summary: "Store and queue can be used, and the server is not about to end",
    role: "anybody",
    answers: { 200: { description: "Ready.", schema: OK } },
    handle: async ({ services }) => {
      if (services.isDraining()) throw new Problem("draining", "The server finishes what it has and ends.");
      await services.store.ping();
      await services.queue.ping();
      return { status: 200, json: { status: "ok" } };
    },
  },
  {
    id: "readMetrics",
    method: "GET",
    path: "/metrics",
    tag: "Server",
    summary: "Numbers for Prometheus",
    role: "viewer",
    answers: { 200: { description: "Text exposition format.", types: { "text/plain": { type: "string" } } } },
    handle: async ({ services }) => ({
      status: 200,
      type: "text/plain; version=0.0.4",
      text: await services.metrics.metrics(),
    }),
  },
  {
    id: "readProblem",
    method: "GET",
    path: "/problems/{problem}",
    tag: "Server",
    summary: "What a problem type means",
    role: "anybody",
    answers: { 200: { description: "In a sentence.", types: { "text/plain": { type: "string" } } } },
    handle: async ({ params }) => {
      const name = params.problem as ProblemName;
      if (!Object.hasOwn(PROBLEMS, name)) throw new Problem("not-found", "There is no such problem type.");
      const [status, title] = PROBLEMS[name];
      return { status: 200, type: "text/plain", text: `${name} (${status}): ${title}.\n` };
    },
  },
  {
    id: "followDay",
    method: "GET",
    path: "/api/days/{day}/events",
    tag: "Days",
    summary: "Follow a day as server-sent events",
    about:
      "Events: `day` (the day's record: first, and whenever a document changes), `job` (id and state of a job of the day) and `mark` (what was marked at a station).",
    role: "viewer",
    answers: { 200: { description: "The stream.", types: { "text/event-stream": { type: "string" } } } },
    handle: async ({ services, params }) => {
      const id = params.day!;
      const first = await services.days.record(id);
      return {
        status: 200,
        stream: (response) => {
          let change = -1;
          const show = (day: { change: number }): void => {
            if (day.change === change) return;
            change = day.change;
            stream.send("day", day);
          };
          const look = (): void => {
            services.store
              .get(dayKeys.day(id))
              .then((record) => record && show(JSON.parse(record.value)))
              .catch(() => undefined);
          };
          const timer = setInterval(look, 5000);
          const unsubscribe = services.events.subscribe(`day:${id}`, (message) => {
            const { job, mark } = message as { job?: string; mark?: unknown };
            if (job !== undefined) stream.send("job", message);
            else if (mark !== undefined) stream.send("mark", mark);
            else look();
          });
          const stream = new EventStream(response, () => {
            clearInterval(timer);
            unsubscribe();
          });
          show(first);
        },
      };
    },
  },
];
