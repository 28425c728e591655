import { BoardError, type Fault } from "./types.js";

interface Problem {
  readonly title?: string;
  readonly detail?: string;
  readonly fix?: string;
  readonly errors?: readonly Fault[];
}

/** Called when the server wants a token, or another one. */
export const signIn: { needed: () => void } = { needed: () => {} };

export interface Answer<T> {
  readonly body: T;
  readonly etag: string | undefined;
  readonly status: number;
  readonly location: string | undefined;
}

/** One request to the server of the page. Answers other than 2xx become a BoardError in the server's own words. */
export async function ask<T>(path: string, init: RequestInit = {}): Promise<Answer<T>> {
  let response: Response;
  try {
    response = await fetch(path, {
      ...init,
      headers: { accept: "application/json", ...(init.headers as Record<string, string>) },
    });
  } catch {
    throw new BoardError("The server cannot be reached.", "Check that it runs and that this device is on the network.");
  }
  const text = await response.text();
  const isJson = /json/.test(response.headers.get("content-type") ?? "");
  const body: unknown = isJson && text !== "" ? JSON.parse(text) : text;
  if (!response.ok) {
    if (response.status === 401) signIn.needed();
    const problem = (isJson ? body : {}) as Problem;
    throw new BoardError(
      problem.detail ?? problem.title ?? `The server answered ${response.status}.`,
      problem.fix ?? "",
      response.status,
      problem.errors ?? [],
    );
  }
  return {
    body: body as T,
    etag: response.headers.get("etag") ?? undefined,
    status: response.status,
    location: response.headers.get("location") ?? undefined,
  };
}

export function sendJson<T>(
  method: "POST" | "PUT" | "DELETE",
  path: string,
  body?: unknown,
  headers: Record<string, string> = {},
): Promise<Answer<T>> {
  return ask<T>(path, {
    method,
    headers: { ...(body === undefined ? {} : { "content-type": "application/json" }), ...headers },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
  });
}
