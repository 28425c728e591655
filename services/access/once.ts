import type { Request } from "express";
import type { Actor } from "../api/actor.js";

type Authenticate = (request: Request) => Promise<Actor | undefined>;

/** Finds out once who sends a request, however many want to know. */
export function oncePerRequest(authenticate: Authenticate): Authenticate {
  const known = new WeakMap<Request, Promise<Actor | undefined>>();
  return (request) => {
    const before = known.get(request);
    if (before) return before;
    const asked = authenticate(request);
    known.set(request, asked);
    return asked;
  };
}
