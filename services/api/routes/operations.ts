import type { DocumentName, Settings } from "../../../schemas/index.js";
import type { DayRecord } from "../../days/day.js";
import type { Texts } from "../../days/texts.js";
import { newId } from "../../ids.js";
import { accept } from "../../jobs/accepting.js";
import type { Turn } from "../../jobs/turns.js";
import { type Mark, markKeys } from "../../marks/mark.js";
import type { Told } from "../../marks/told.js";
import { OPERATIONS } from "../../operations/index.js";
import type { JsonSchema, Operation } from "../../operations/operation.js";
import { Problem } from "../../problem.js";
import { command } from "../command.js";
import { resultName } from "../openapi.js";
import type { Asked, Reply, Route } from "../route.js";
import { ref } from "../schemas.js";
import { checkBody, decoded, parseSmall } from "../validation.js";

/** When a job of this owner comes up; a problem when it may have no more. */
async function turnOf({ actor, services }: Asked): Promise<Turn> {
  const { jobs } = actor.limits;
  const turn = await services.turns.take(actor.id, jobs);
  if (turn) return turn;
  const detail = `This token may have ${jobs} jobs that wait or run, and has them.`;
  throw new Problem("queue-share", detail, {}, { "Retry-After": "5" });
}

function checkBudget(asked: Asked, operation: Operation, source: Source): number {
  const settings = JSON.parse(source.texts.settings!) as Settings;
  const seconds = operation.secondsOf?.(settings, JSON.parse(source.request)) ?? 0;
  const { limits } = asked.actor;
  if (seconds > limits.seconds)
    throw new Problem(
      "not-allowed",
      `This asks for ${seconds} s of search; the token may ask for ${limits.seconds} s.`,
    );
  return seconds;
}

/** What an operation is asked about: checked, as text. */
interface Source {
  readonly day?: string;
  readonly versions?: Readonly<Partial<Record<DocumentName, number>>>;
  readonly texts: Texts;
  readonly request: string;
  readonly told?: Told;
}

/** Accepts a job: from its answer on, only the store can lose it. */
async function acceptJob(asked: Asked, operation: Operation, source: Source): Promise<Reply> {
  const { services, actor } = asked;
  if (services.isDraining()) throw new Problem("draining", "Ask again in a moment.", {}, { "Retry-After": "3" });
  const seconds = checkBudget(asked, operation, source);
  const { rank, settled } = await turnOf(asked);
  const id = newId();
  const { day, versions, texts, request, told } = source;
  const reply = await command(asked, operation.name, day ?? "-", async (tx) => {
    const job = accept(
      tx,
      {
        id,
        operation: operation.name,
        ...(day === undefined ? {} : { day, versions: versions! }),
        owner: actor.id,
        rank,
        seconds,
        input: { request, ...(day === undefined ? { texts } : {}), ...(told ? { told } : {}) },
      },
      asked.at,
    );
    return { status: 202, json: job, headers: { Location: `/api/jobs/${id}` } };
  }).finally(settled);
  services.relay.kick();
  if (day !== undefined) services.events.publish(`day:${day}`, { job: id, state: "waiting" });
  return reply;
}

function answersOf(operation: Operation): Route["answers"] {
  return operation.isLong
    ? {
        202: {
          description: `Accepted as a job; its result is a ${resultName(operation.name)}.`,
          schema: ref("Job"),
          headers: { Location: "The job." },
        },
      }
    : { 200: { description: "The answer.", schema: operation.response } };
}

async function answer(asked: Asked, operation: Operation, source: Source): Promise<Reply> {
  if (operation.isLong) return acceptJob(asked, operation, source);
  const { texts: dayTexts, request: requestText, told } = source;
  const input = { dayTexts, requestText, ...(told ? { told } : {}) };
  const text = await asked.services.quick.runTexts(operation.name, input).catch((error: Error) => {
    throw error.name === "BadRequest" ? new Problem("bad-request", `${error.message}.`) : error;
  });
  return { status: 200, type: "application/json", text };
}

/** Small requests are checked here and now, big ones in the checker's thread. */
const SMALL = 16 * 1024;

async function requestOf(asked: Asked, operation: Operation): Promise<string> {
  if (asked.bytes.length > SMALL) return asked.services.days.readRequest(asked.bytes, operation.name);
  const text = decoded(asked.bytes);
  const request = parseSmall(text.trim() === "" ? "{}" : text);
  checkBody(operation.request, request);
  return JSON.stringify(request);
}

function capital(text: string): string {
  return text.replace(/^./, (letter) => letter.toUpperCase());
}

/** More than any day has. */
const MOST_MARKS = 20_000;

async function toldOf({ services, at }: Asked, day: DayRecord): Promise<Told> {
  const records = await services.store.list(markKeys.of(day), { limit: MOST_MARKS });
  const { timetable: version } = day.versions;
  const marks = records.map(({ value }) => JSON.parse(value) as Mark);
  return { marks, ...(version === undefined ? {} : { version }), now: at };
}

/** About a stored day: the body is the operation's request. */
function storedRoute(operation: Operation): Route {
  return {
    id: `${operation.name}Day`,
    method: "POST",
    path: `/api/days/{day}/${operation.name}`,
    tag: "Operations",
    summary: capital(operation.summary),
    about: operation.about,
    role: operation.isLong ? "planner" : "viewer",
    body: { kind: "text", types: { "application/json": operation.request }, isOptional: true },
    answers: answersOf(operation),
    handle: async (asked) => {
      const { days } = asked.services;
      const record = await days.record(asked.params.day!);
      for (const document of operation.needs ?? [])
        if (record.versions[document] === undefined)
          throw new Problem("not-found", `${operation.name} needs ${document}; ${record.id} has none.`);
      const request = await requestOf(asked, operation);
      const texts = await days.texts(record.id, record.versions);
      const told = operation.asItStands ? { told: await toldOf(asked, record) } : {};
      return answer(asked, operation, { day: record.id, versions: record.versions, texts, request, ...told });
    },
  };
}

/** About documents that come with the request: what the command line sends. */
function sentRoute(operation: Operation): Route {
  const schema: JsonSchema = {
    type: "object",
    additionalProperties: false,
    required: ["documents"],
    properties: { documents: ref("Documents"), request: operation.request },
  };
  return {
    id: `${operation.name}Documents`,
    method: "POST",
    path: `/api/${operation.name}`,
    tag: "Operations",
    summary: `${capital(operation.summary)}, with the documents in the request`,
    about: operation.about,
    role: operation.isLong ? "planner" : "viewer",
    body: { kind: "text", types: { "application/json": schema } },
    answers: answersOf(operation),
    handle: async (asked) => {
      const { documents: texts, request } = await asked.services.days.readSent(asked.bytes, operation.name);
      return answer(asked, operation, { texts, request });
    },
  };
}

export const operationRoutes: readonly Route[] = OPERATIONS.flatMap((operation) => [
  storedRoute(operation),
  sentRoute(operation),
]);
