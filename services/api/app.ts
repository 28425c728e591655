import { existsSync } from "node:fs";
import { join } from "node:path";
import express, { type Express, type NextFunction, type Request, type Response } from "express";
import helmet from "helmet";
import { PROBLEMS, Problem } from "../problem.js";
import { StoreUnavailable } from "../store/store.js";
import { TooBusy } from "../store/transact.js";
import { type Actor, mustBe } from "./actor.js";
import { BodyReader } from "./body-reader.js";
import { BodyRoom } from "./body-room.js";
import { replayed } from "./command.js";
import type { Asked, Reply, Route } from "./route.js";
import { PATH_PARAMETERS } from "./schemas.js";
import type { Services } from "./services.js";
import { checkBody, decoded, parseSmall, readParameters } from "./validation.js";

export interface AppOptions {
  readonly services: Services;
  readonly routes: readonly Route[];
  readonly authenticate: (request: Request) => Promise<Actor | undefined>;
  /** Looks anew: is whoever sent this still let in? */
  readonly stillMay: (request: Request) => Promise<boolean>;
  readonly bodyLimitBytes: number;
  /** The folder of the built board; served when it is there. */
  readonly boardFolder?: string;
  readonly onFault: (error: unknown, request: Request) => void;
  /** Runs before everything else: logging, limits. */
  readonly before?: readonly express.RequestHandler[];
  /** A proxy in front is believed about addresses and TLS. */
  readonly isBehindProxy: boolean;
}

/** Bodies of kind json are parsed in the server's own thread, so they are small. */
const SMALL_BODY_BYTES = 64 * 1024;

const NOTHING = new Uint8Array(0);

interface ReadBody {
  readonly bytes: Uint8Array;
  readonly body: unknown;
  readonly mediaType: string;
}

function bodyOf(route: Route, request: Request, bytes: Uint8Array): ReadBody {
  const mediaType = (request.headers["content-type"] ?? "").split(";")[0]!.trim().toLowerCase();
  if (route.body === undefined) return { bytes, body: undefined, mediaType };
  const types = route.body.kind === "json" ? ["application/json"] : Object.keys(route.body.types);
  if (bytes.length === 0 && route.body.isOptional) return { bytes, body: {}, mediaType };
  if (!types.includes(mediaType))
    throw new Problem("media-type", `Send ${types.join(" or ")}${mediaType === "" ? "" : `, not ${mediaType}`}.`);
  if (route.body.kind === "text") return { bytes, body: undefined, mediaType };
  if (bytes.length > SMALL_BODY_BYTES)
    throw new Problem("body-too-big", `This address takes at most ${SMALL_BODY_BYTES} bytes.`);
  const body = parseSmall(decoded(bytes));
  checkBody(route.body.schema, body);
  return { bytes, body, mediaType };
}

function send(response: Response, reply: Reply): void {
  if (reply.stream) {
    reply.stream(response);
    return;
  }
  response.status(reply.status);
  for (const [name, value] of Object.entries(reply.headers ?? {})) response.setHeader(name, value);
  if (!response.hasHeader("Cache-Control")) response.setHeader("Cache-Control", "no-cache");
  if (reply.text !== undefined) {
    response.setHeader("Content-Type", `${reply.type ?? "text/plain"}; charset=utf-8`);
    response.end(reply.text);
  } else if (reply.json !== undefined) {
    response.setHeader("Content-Type", "application/json; charset=utf-8");
    response.end(JSON.stringify(reply.json));
  } else response.end();
}

function sendProblem(response: Response, problem: Problem): void {
  for (const [name, value] of Object.entries(problem.headers)) response.setHeader(name, value);
  response.status(problem.status);
  response.setHeader("Content-Type", "application/problem+json; charset=utf-8");
  response.setHeader("Cache-Control", "no-store");
  response.end(JSON.stringify(problem));
}

/** Anything thrown, as a problem; undefined when it is a fault of the program. */
function problemOf(error: unknown): Problem | undefined {
  if (error instanceof Problem) return error;
  if (error instanceof StoreUnavailable)
    return new Problem("unavailable", `The store cannot be used now: ${error.message}.`, {}, { "Retry-After": "2" });
  if (error instanceof TooBusy) return new Problem("unavailable", error.message, {}, { "Retry-After": "1" });
  const { type, status } = (error ?? {}) as { type?: string; status?: number };
  if (error instanceof URIError) return new Problem("bad-request", "The address is not well formed.");
  if (type !== undefined && status !== undefined && status < 500)
    return new Problem(status === 415 ? "media-type" : "bad-request", (error as Error).message);
  return undefined;
}

/** Express paths from OpenAPI paths. */
function expressPath(path: string): string {
  return path.replaceAll(/\{(\w+)\}/g, ":$1");
}

function objectSchema(properties: Route["query"] = {}, required: readonly string[] = []): object {
  return { type: "object", additionalProperties: false, required, properties };
}

/** The app: routes from the table, the board's files, problem documents for everything else. */
export function createApp(options: AppOptions): Express {
  const { services, routes } = options;
  const app = express();
  app.disable("x-powered-by");
  app.set("etag", false);
  app.set("trust proxy", options.isBehindProxy ? 1 : false);
  app.set("query parser", "simple");
  app.use(
    helmet({
      contentSecurityPolicy: { useDefaults: false, directives: CSP },
      referrerPolicy: { policy: "no-referrer" },
    }),
  );
  const reader = new BodyReader(options.bodyLimitBytes);
  const room = new BodyRoom(BODIES_AT_A_TIME * options.bodyLimitBytes, options.bodyLimitBytes);
  app.use((request: Request, response: Response, next: NextFunction) => {
    reader.dropUnread(request, response);
    next();
  });
  for (const handler of options.before ?? []) app.use(handler);
  const read: Read = (request, response) => {
    room.take(request, response);
    return reader.read(request);
  };
  for (const route of routes) mount(app, route, read, options);
  rejectOtherMethods(app, routes);
  app.use("/api", (request) => {
    throw new Problem("not-found", `There is no ${request.method} ${request.originalUrl.slice(0, 200)}.`);
  });
  if (options.boardFolder !== undefined) serveBoard(app, options.boardFolder);
  app.use((request) => {
    throw new Problem("not-found", `There is nothing at ${request.path.slice(0, 200)}.`);
  });
  app.use((error: unknown, request: Request, response: Response, _next: NextFunction) => {
    const problem = problemOf(error);
    if (!problem) options.onFault(error, request);
    if (response.headersSent) response.destroy();
    else sendProblem(response, problem ?? new Problem("fault", "Something went wrong here; it was logged."));
  });
  return app;

  function mount(target: Express, route: Route, read: Read, { authenticate }: AppOptions): void {
    const parameters = [...route.path.matchAll(/\{(\w+)\}/g)].map((match) => match[1]!);
    const pathSchemas = Object.fromEntries(parameters.map((name) => [name, PATH_PARAMETERS[name]!]));
    const pathSchema = objectSchema(pathSchemas, parameters) as Route["query"] & object;
    const querySchema = objectSchema(route.query) as Route["query"] & object;
    const method = route.method.toLowerCase() as "get" | "put" | "post" | "delete";
    target[method](expressPath(route.path), async (request: Request, response: Response) => {
      response.locals.route = `${route.method} ${route.path}`;
      const actor = await authenticate(request);
      if (route.role !== "anybody") {
        if (!actor)
          throw new Problem(
            "sign-in-needed",
            "Send Authorization: Bearer with a token.",
            {},
            {
              "WWW-Authenticate": "Bearer",
            },
          );
        mustBe(actor, route.role);
      }
      // Only now: nobody fills the memory with what is refused anyway.
      const bytes = route.body === undefined ? NOTHING : await read(request, response);
      const asked: Asked = {
        actor: actor ?? NOBODY,
        services,
        method: request.method,
        address: request.originalUrl,
        params: readParameters(pathSchemas, request.params, pathSchema) as Record<string, string>,
        query: readParameters(route.query ?? {}, request.query, querySchema),
        header: (name) => request.get(name),
        at: new Date().toISOString(),
        isSecure: request.secure,
        ...bodyOf(route, request, bytes),
      };
      const before = route.method === "GET" ? undefined : await replayed(asked);
      const reply = before ?? (await handled(route, asked));
      send(response, reply);
      if (reply.stream && route.role !== "anybody") cutWhenOver(response, () => options.stillMay(request));
    });
  }
}

type Read = (request: Request, response: Response) => Promise<Uint8Array>;

/** Bodies of the greatest size that are held at a time. */
const BODIES_AT_A_TIME = 16;

/** The same command may be under way already, under the same key: what that one changed is then why this one is refused, and its answer is this one's too. */
async function handled(route: Route, asked: Asked): Promise<Reply> {
  try {
    return await route.handle(asked);
  } catch (error) {
    const kept = error instanceof Problem && route.method !== "GET" ? await replayed(asked) : undefined;
    if (kept) return kept;
    throw error;
  }
}

const LOOK_AGAIN_MS = 5000;

/** A stream outlives its request: it ends when the token that opened it does. */
function cutWhenOver(response: Response, stillMay: () => Promise<boolean>): void {
  const timer = setInterval(() => {
    // While the store is away nobody is cut off.
    stillMay().then(
      (may) => may || response.destroy(),
      () => undefined,
    );
  }, LOOK_AGAIN_MS);
  response.once("close", () => clearInterval(timer));
}

const NOBODY: Actor = { id: "nobody", name: "nobody", role: "viewer", sites: [], limits: { jobs: 0, seconds: 0 } };

/** Everything from this server only; no inline scripts, no frames, no plug-ins. */
const CSP = {
  defaultSrc: ["'none'"],
  scriptSrc: ["'self'"],
  styleSrc: ["'self'"],
  imgSrc: ["'self'", "data:"],
  fontSrc: ["'self'"],
  connectSrc: ["'self'"],
  manifestSrc: ["'self'"],
  workerSrc: ["'self'"],
  baseUri: ["'none'"],
  formAction: ["'self'"],
  frameAncestors: ["'none'"],
};

function rejectOtherMethods(app: Express, routes: readonly Route[]): void {
  const methods = new Map<string, string[]>();
  for (const { path, method } of routes) methods.set(path, [...(methods.get(path) ?? []), method]);
  for (const [path, allowed] of methods) {
    const allow = [...allowed, ...(allowed.includes("GET") ? ["HEAD"] : [])].join(", ");
    app.all(expressPath(path), (request: Request) => {
      throw new Problem(
        "method-not-allowed",
        `${request.method.slice(0, 20)} is not for ${path}; it takes ${allow}.`,
        {},
        { Allow: allow },
      );
    });
  }
}

/** The board's files; its page for every address that it may have made up itself. */
function serveBoard(app: Express, folder: string): void {
  const page = join(folder, "index.html");
  app.use(
    express.static(folder, {
      index: false,
      dotfiles: "ignore",
      setHeaders: (response, path) => {
        // Built files carry a hash of their content in their name; the page itself does not.
        const isHashed = /[.-][\w-]{8,}\.(js|css|woff2|svg|png)$/.test(path);
        response.setHeader("Cache-Control", isHashed ? "public, max-age=31536000, immutable" : "no-cache");
      },
    }),
  );
  app.use((request: Request, response: Response, next: NextFunction) => {
    const wantsPage = request.method === "GET" && !/\.\w{1,8}$/.test(request.path) && existsSync(page);
    if (wantsPage) response.sendFile(page, { headers: { "Cache-Control": "no-cache" } });
    else next();
  });
}

/** For the documentation of problems. */
export const PROBLEM_NAMES = Object.keys(PROBLEMS);
