import type { RequestHandler } from "express";
import { rateLimit } from "express-rate-limit";
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
 * So many requests in ten seconds by address, on each server; behind a proxy by the address that it names. What one token may have waiting on the
 * queue is limited besides.
 */
export function limitRequests(most: number): RequestHandler {
  return rateLimit({
    windowMs: WINDOW_MS,
    limit: most,
    standardHeaders: "draft-8",
    legacyHeaders: false,
    skip: (request) => request.path.startsWith("/health/"),
    handler: (_request, response) => {
      const wait = response.getHeader("Retry-After")?.toString() ?? "10";
      throw new Problem("too-many", `More than ${most} requests in ten seconds.`, {}, { "Retry-After": wait });
    },
  });
}
