import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { isFinal, type Job } from "../jobs/job.js";
import type { RunProgress } from "../operations/operation.js";
import type { RunOptions } from "./pool.js";

/** A server that runs operations for this program. */
export interface RemoteServer {
  readonly url: string;
  readonly token: string | undefined;
}

/** The server refused, or could not be reached. */
export class RemoteError extends Error {}

interface ProblemText {
  readonly title?: string;
  readonly detail?: string;
  readonly errors?: readonly { readonly detail: string; readonly pointer?: string }[];
}

const RETRY_MS = 500;
const MOST_RETRIES = 40;
/** An address that never answered is probably wrong. */
const FIRST_RETRIES = 3;

async function ask(server: RemoteServer, method: string, path: string, body?: string): Promise<Response> {
  const headers = {
    ...(server.token === undefined ? {} : { Authorization: `Bearer ${server.token}` }),
    ...(body === undefined ? {} : { "Content-Type": "application/json" }),
    // The same key whenever this request is sent again: it is done once.
    ...(method === "POST" ? { "Idempotency-Key": crypto.randomUUID() } : {}),
  };
  for (let tries = 1; ; tries++) {
    const response = await fetch(new URL(path, server.url), {
      method,
      headers,
      ...(body === undefined ? {} : { body }),
    }).catch((error: Error) => error);
    const isBusy = response instanceof Error || response.status === 503 || response.status === 429;
    if (!isBusy) {
      if (response.ok) return response;
      throw new RemoteError(await problemText(response));
    }
    if (tries >= (started ? MOST_RETRIES : FIRST_RETRIES)) {
      const why =
        response instanceof Error
          ? ((response.cause as Error | undefined)?.message ?? response.message)
          : await problemText(response);
      throw new RemoteError(`${server.url}: ${why}`);
    }
    await new Promise((resolve) => setTimeout(resolve, RETRY_MS));
  }
}

/** Whether the server has answered once: then a broken line is worth some patience. */
let started = false;

async function problemText(response: Response): Promise<string> {
  const text = await response.text();
  try {
    const { title, detail, errors = [] } = JSON.parse(text) as ProblemText;
    const places = errors.slice(0, 20).map((error) => `  ${error.pointer ?? ""}: ${error.detail}`);
    return [`the server refused: ${title}: ${detail}`, ...places].join("\n");
  } catch {
    return `the server answered ${response.status}`;
  }
}

/** Reads the job's events until its stream ends; true when the job is over. */
async function follow(server: RemoteServer, id: string, options: RunOptions): Promise<boolean> {
  const response = await ask(server, "GET", `/api/jobs/${id}/events`);
  let isOver = false;
  let rest = "";
  const decoder = new TextDecoder();
  for await (const chunk of response.body as unknown as AsyncIterable<Uint8Array>) {
    const parts = (rest + decoder.decode(chunk, { stream: true })).split("\n\n");
    rest = parts.pop()!;
    for (const part of parts) {
      const name = /^event: (.*)$/m.exec(part)?.[1];
      const data = /^data: (.*)$/m.exec(part)?.[1];
      if (name === "progress") options.onProgress?.(JSON.parse(data!) as RunProgress);
      else if (name === "timetable") options.onTimetable?.(JSON.parse(data!) as Timetable);
      else if (name === "job") isOver = isFinal(JSON.parse(data!) as Job);
    }
  }
  return isOver;
}

/** Runs an operation on a server: the documents go with the request, progress comes back, stop-and-keep is passed on. */
export async function runRemote(
  server: RemoteServer,
  name: string,
  day: DayDocuments,
  request: unknown,
  options: RunOptions,
): Promise<unknown> {
  const { inForce, ...rest } = day;
  const documents = inForce === undefined ? rest : { ...rest, timetable: inForce };
  const answer = await ask(server, "POST", `/api/${name}`, JSON.stringify({ documents, request }));
  started = true;
  if (answer.status !== 202) return answer.json();
  const job = (await answer.json()) as Job;
  const stop = (): void => void ask(server, "POST", `/api/jobs/${job.id}/stop`).catch(() => undefined);
  if (options.signal?.aborted) stop();
  options.signal?.addEventListener("abort", stop, { once: true });
  try {
    while (!(await follow(server, job.id, options).catch(lineBroken)))
      await new Promise((resolve) => setTimeout(resolve, RETRY_MS));
  } finally {
    options.signal?.removeEventListener("abort", stop);
  }
  return (await ask(server, "GET", `/api/jobs/${job.id}/result`)).json();
}

/** A stream that breaks is opened again; a refusal is not. */
function lineBroken(error: unknown): boolean {
  if (error instanceof RemoteError) throw error;
  return false;
}
