import type { Network, Task, Timetable } from "../../../schemas/index.js";
import type { DayRecord } from "../../days/day.js";
import { newId } from "../../ids.js";
import {
  asBelieved,
  believedAt,
  happeningOf,
  type Mark,
  markKeys,
  minuteOf,
  type NewMark,
  tasksOf,
} from "../../marks/mark.js";
import { asMarked, isLonger } from "../../marks/progress.js";
import { Problem } from "../../problem.js";
import { mustActFor } from "../actor.js";
import { command } from "../command.js";
import type { Asked, Route } from "../route.js";
import { ref } from "../schemas.js";

/** Of a version of the timetable: what marks are compared with. */
interface Known {
  readonly tasks: ReadonlyMap<string, Task>;
  readonly zones: ReadonlyMap<string, string>;
  /** Epoch minutes. */
  readonly window: { readonly fromMinute: number; readonly toMinute: number };
}

/** Looked up with every mark. */
const knownByVersion = new Map<string, Known>();
const MOST_VERSIONS = 50;

async function knownOf({ services }: Asked, { id, versions }: DayRecord): Promise<Known> {
  if (versions.timetable === undefined) throw new Problem("not-found", `${id} has no timetable in force.`);
  const key = `${id}/${versions.timetable}/${versions.network}`;
  const before = knownByVersion.get(key);
  if (before) return before;
  const timetable = JSON.parse(await services.days.text(id, "timetable", versions.timetable)) as Timetable;
  const network = JSON.parse(await services.days.text(id, "network", versions.network!)) as Network;
  // Of the places one is enough: it names the unit.
  const slim = ({ places, dips, ...task }: Task): Task => ({
    ...task,
    ...(places ? { places: places.slice(0, 1) } : {}),
  });
  const known: Known = {
    tasks: new Map([...tasksOf(timetable)].map(([task, whole]) => [task, slim(whole)])),
    zones: new Map(network.sites.map((site) => [site.id, site.timeZone])),
    window: { fromMinute: minuteOf(timetable.window.from), toMinute: minuteOf(timetable.window.to) },
  };
  if (knownByVersion.size >= MOST_VERSIONS) knownByVersion.delete(knownByVersion.keys().next().value!);
  knownByVersion.set(key, known);
  return known;
}

const MOST_MARKS = 5000;

/** All that was marked of a day, in the order that it came in. */
async function marksOf({ services }: Asked, day: DayRecord, window: Known["window"]): Promise<Mark[]> {
  const records = await services.store.list(markKeys.of(day), { limit: MOST_MARKS });
  return records.map(({ value }) => asBelieved(JSON.parse(value) as Mark, window));
}

async function markOf(asked: Asked, day: DayRecord): Promise<Mark> {
  const fresh = asked.body as NewMark;
  const { tasks, zones, window } = await knownOf(asked, day);
  const task = tasks.get(fresh.task);
  if (!task) throw new Problem("not-found", `The timetable in force has no task ${fresh.task}.`);
  if (Number.isNaN(minuteOf(fresh.at)))
    throw new Problem("bad-request", `${fresh.at} is not an instant.`, {
      errors: [{ detail: "not an instant", pointer: "/at" }],
    });
  mustActFor(asked.actor, task.site);
  const by = asked.actor.name;
  const at = believedAt(fresh.at, asked.at, window);
  const zone = zones.get(task.site)!;
  // Whoever says that it takes longer means longer than the end that the screen shows, which goes by the real start.
  const seen = isLonger(fresh) ? asMarked(task, await marksOf(asked, day, window), zone) : task;
  const happening = happeningOf({ ...fresh, at }, by, seen, zone);
  return {
    id: newId(),
    site: task.site,
    ...fresh,
    ...(at === fresh.at ? {} : { at, saidAt: fresh.at }),
    receivedAt: asked.at,
    by,
    version: day.versions.timetable!,
    plannedStart: task.start,
    ...(happening ? { happening } : {}),
  };
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
    handle: async (asked) => {
      const { services, params, query } = asked;
      const { after, limit } = query as { after?: string; limit: number };
      const record = await services.days.record(params.day!);
      const records = await services.store.list(markKeys.of(record), {
        limit,
        ...(after === undefined ? {} : { after: markKeys.mark(record, after) }),
      });
      const marks = records.map(({ value }) => JSON.parse(value) as Mark);
      if (record.versions.timetable === undefined) return { status: 200, json: { marks } };
      const { window } = await knownOf(asked, record);
      return { status: 200, json: { marks: marks.map((mark) => asBelieved(mark, window)) } };
    },
  },
  {
    id: "markTask",
    method: "POST",
    path: "/api/days/{day}/marks",
    tag: "Stations",
    summary: "Mark a task as started or finished, or report trouble with it",
    about:
      "The answer says what it means as a happening; repair, hold and drift of the stored day take it into account from now on (POST .../standing shows it). Trouble is understood from `trouble`, or from the notes that kitchen screens send; any other note is only shown. A time that is more than 5 minutes ahead of the server's clock counts as now (`saidAt` keeps it), when the server's clock is in the day or within 12 hours of it. Send it with an Idempotency-Key: a station that is not sure whether it got through sends it again.",
    role: "station",
    query: {
      life: {
        type: "integer",
        minimum: 0,
        description:
          "The `life` of the day that it was marked of (0: it has none): refused when that was deleted since and another is kept under its id.",
      },
    },
    body: { kind: "json", schema: ref("NewMark") },
    answers: { 201: { description: "Kept; whoever follows the day is told.", schema: ref("Mark") } },
    handle: async (asked) => {
      const record = await asked.services.days.record(asked.params.day!);
      const { life } = asked.query as { life?: number };
      if (life !== undefined && life !== (record.life ?? 0))
        throw new Problem("not-found", "The day that this was marked of was deleted; another has its name now.");
      const mark = await markOf(asked, record);
      const reply = await command(asked, "mark-task", `${record.id}/${mark.task}`, async (tx) => {
        tx.put(markKeys.mark(record, mark.id), mark);
        return { status: 201, json: mark };
      });
      if (reply.json === mark) asked.services.events.publish(`day:${record.id}`, { mark });
      return reply;
    },
  },
  {
    id: "setMarkAside",
    method: "DELETE",
    path: "/api/days/{day}/marks/{mark}",
    tag: "Stations",
    summary: "Set a mark aside that was a mistake",
    about: "It stays on the list, with who set it aside and when, and counts no more.",
    role: "station",
    answers: { 200: { description: "Set aside.", schema: ref("Mark") } },
    handle: async (asked) => {
      const { day, mark: id } = asked.params as { day: string; mark: string };
      const key = markKeys.mark(await asked.services.days.record(day), id);
      const reply = await command(asked, "set-mark-aside", `${day}/${id}`, async (tx) => {
        const mark = await tx.get<Mark>(key);
        if (!mark) throw new Problem("not-found", `${day} has no mark ${id}.`);
        mustActFor(asked.actor, mark.site);
        const aside: Mark = { ...mark, setAside: mark.setAside ?? { at: asked.at, by: asked.actor.name } };
        tx.put(key, aside);
        return { status: 200, json: aside };
      });
      asked.services.events.publish(`day:${day}`, { mark: reply.json });
      return reply;
    },
  },
];
