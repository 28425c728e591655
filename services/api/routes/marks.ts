import type { Timetable } from "../../../schemas/index.js";
import { newId } from "../../ids.js";
import { Problem } from "../../problem.js";
import { mustActFor } from "../actor.js";
import { command } from "../command.js";
import type { Asked, Route } from "../route.js";
import { ref } from "../schemas.js";

/** What a station says of a task: when it really began or ended, or that something is wrong. */
export interface Mark {
  readonly id: string;
  readonly task: string;
  readonly site: string;
  readonly what: "started" | "finished" | "trouble";
  /** When it happened, as the station says; it may have been without a line for a while. */
  readonly at: string;
  readonly receivedAt: string;
  readonly by: string;
  readonly note?: string;
}

type NewMark = Pick<Mark, "task" | "what" | "at" | "note">;

const markKeys = { mark: (day: string, id: string) => `mark/${day}/${id}`, of: (day: string) => `mark/${day}/` };

/** The site of each task of the timetable in force, by version: looked up with every mark. */
const sitesByVersion = new Map<string, Map<string, string>>();
const MOST_VERSIONS = 50;

async function siteOf(asked: Asked, day: string, task: string): Promise<string> {
  const version = (await asked.services.days.record(day)).versions.timetable;
  if (version === undefined) throw new Problem("not-found", `${day} has no timetable in force.`);
  const key = `${day}/${version}`;
  let sites = sitesByVersion.get(key);
  if (!sites) {
    const timetable = JSON.parse(await asked.services.days.text(day, "timetable", version)) as Timetable;
    sites = new Map(timetable.tasks.map((one) => [one.id, one.site]));
    if (sitesByVersion.size >= MOST_VERSIONS) sitesByVersion.delete(sitesByVersion.keys().next().value!);
    sitesByVersion.set(key, sites);
  }
  const site = sites.get(task);
  if (site === undefined) throw new Problem("not-found", `The timetable in force has no task ${task}.`);
  return site;
}

export const markRoutes: readonly Route[] = [
  {
    id: "listMarks",
    method: "GET",
    path: "/api/days/{day}/marks",
    tag: "Stations",
    summary: "What the stations marked, in the order that it came in",
    role: "viewer",
    query: {
      after: { type: "string", pattern: "^[0-9a-z]{26}$", description: "Only marks that came after this one." },
      limit: { type: "integer", minimum: 1, maximum: 5000, default: 1000 },
    },
    answers: {
      200: {
        description: "Marks.",
        schema: { type: "object", required: ["marks"], properties: { marks: { type: "array", items: ref("Mark") } } },
      },
    },
    handle: async ({ services, params, query }) => {
      const { after, limit } = query as { after?: string; limit: number };
      const day = params.day!;
      await services.days.record(day);
      const records = await services.store.list(markKeys.of(day), {
        limit,
        ...(after === undefined ? {} : { after: markKeys.mark(day, after) }),
      });
      return { status: 200, json: { marks: records.map(({ value }) => JSON.parse(value) as Mark) } };
    },
  },
  {
    id: "markTask",
    method: "POST",
    path: "/api/days/{day}/marks",
    tag: "Stations",
    summary: "Mark a task as started or finished, or report trouble with it",
    about: "Send it with an Idempotency-Key: a station that is not sure whether it got through sends it again.",
    role: "station",
    body: { kind: "json", schema: ref("NewMark") },
    answers: { 201: { description: "Kept; whoever follows the day is told.", schema: ref("Mark") } },
    handle: async (asked) => {
      const day = asked.params.day!;
      const fresh = asked.body as NewMark;
      const site = await siteOf(asked, day, fresh.task);
      mustActFor(asked.actor, site);
      const mark: Mark = { id: newId(), site, ...fresh, receivedAt: asked.at, by: asked.actor.name };
      const reply = await command(asked, "mark-task", `${day}/${fresh.task}`, async (tx) => {
        tx.put(markKeys.mark(day, mark.id), mark);
        return { status: 201, json: mark };
      });
      if (reply.json === mark) asked.services.events.publish(`day:${day}`, { mark });
      return reply;
    },
  },
];
