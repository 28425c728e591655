import type { Request } from "express";
import { type Actor, LOCAL } from "../api/actor.js";
import { mustBeFromHere } from "../api/loopback.js";
import { Problem } from "../problem.js";
import type { Store } from "../store/store.js";
import { actorOf } from "./tokens.js";

export const COOKIE = "deckshelf";

function cookieOf(request: Request): string | undefined {
  for (const part of (request.headers.cookie ?? "").split(";")) {
    const [name, value] = part.trim().split("=");
    if (name === COOKIE) return value;
  }
  return undefined;
}

/** Without login: whoever is on this machine. */
export async function openToThisMachine(request: Request): Promise<Actor> {
  mustBeFromHere(request);
  return LOCAL;
}

/** Calendar programs only know HTTP Basic: the token is the password, the name does not matter. */
function passwordOf(header: string): string | undefined {
  const coded = /^Basic +([A-Za-z0-9+/=]+)$/i.exec(header)?.[1];
  return coded === undefined ? undefined : Buffer.from(coded, "base64").toString().split(":").slice(1).join(":");
}

/** With login: by the token in the Authorization header, or in the cookie that the board's sign-in sets. */
export function byToken(store: Store): (request: Request) => Promise<Actor | undefined> {
  return async (request) => {
    const header = request.headers.authorization;
    if (header !== undefined) {
      const text = /^Bearer +(\S+)$/i.exec(header)?.[1] ?? passwordOf(header);
      const actor = text === undefined ? undefined : await actorOf(store, text, Date.now());
      if (!actor)
        throw new Problem("sign-in-needed", "This token is not known, or over.", {}, { "WWW-Authenticate": "Bearer" });
      return actor;
    }
    const cookie = cookieOf(request);
    if (cookie === undefined) return undefined;
    mustBeOwnPage(request);
    return actorOf(store, cookie, Date.now());
  };
}

/** A browser sends the cookie by itself, so changes are taken from our own pages only. */
function mustBeOwnPage(request: Request): void {
  if (request.method === "GET" || request.method === "HEAD") return;
  const { origin, host } = request.headers;
  // Pages without an origin of their own send "null".
  if (origin === undefined || (URL.canParse(origin) && new URL(origin).host === host)) return;
  throw new Problem("not-allowed", "This request comes from a page of another site.");
}

/** False when it is refused; other faults, of the store, are thrown on. */
export async function isLetIn(asking: Promise<Actor | undefined>): Promise<boolean> {
  try {
    return (await asking) !== undefined;
  } catch (error) {
    if (error instanceof Problem) return false;
    throw error;
  }
}
