import type { Request, RequestHandler } from "express";
import { ipKeyGenerator, rateLimit } from "express-rate-limit";
import type { Actor } from "../api/actor.js";
import { Problem } from "../problem.js";
import type { Logger } from "./log.js";
import type { Metrics } from "./metrics.js";

/** Logs and measures each request by its route; never its query, headers or body. */
export function watchRequests(log: Logger, metrics: Metrics): RequestHandler {
  return (request, response, next) => {
    const started = performance.now();
    response.on("close", () => {
      const seconds = (performance.now() - started) / 1000;
      const route = (response.locals.route as string | undefined) ?? `${request.method} other`;
      const isStream = response.getHeader("content-type")?.toString().startsWith("text/event-stream") === true;
      if (!isStream) metrics.request(route, response.statusCode, seconds);
      log.info({ route, path: request.path, status: response.statusCode, ms: Math.round(1000 * seconds) }, "request");
    });
    next();
  };
}

const WINDOW_MS = 10_000;

/**
 * So many requests in ten seconds by token, on each server; those without a good one by address, behind a proxy by the address that it names. So kitchens that
 * share an address do not use up each other's. What one token may have waiting on the queue is limited besides.
 */
export function limitRequests(
  most: number,
  authenticate: (request: Request) => Promise<Actor | undefined>,
): RequestHandler {
  const keyOf = async (request: Request): Promise<string> => {
    const isBoard = !/^\/(api|metrics)\b/.test(request.path);
    const actor = isBoard ? undefined : await authenticate(request).catch(() => undefined);
    return actor ? `token ${actor.id}` : ipKeyGenerator(request.ip ?? "");
  };
  return rateLimit({
    windowMs: WINDOW_MS,
    limit: most,
    keyGenerator: keyOf,
    standardHeaders: "draft-8",
    legacyHeaders: false,
    skip: (request) => request.path.startsWith("/health/"),
    handler: (_request, response) => {
      const wait = response.getHeader("Retry-After")?.toString() ?? "10";
      throw new Problem("too-many", `More than ${most} requests in ten seconds.`, {}, { "Retry-After": wait });
    },
  });
}
