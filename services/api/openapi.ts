import { OPERATIONS } from "../operations/index.js";
import type { JsonSchema } from "../operations/operation.js";
import { PROBLEMS } from "../problem.js";
import { allDefinitions, underOneRoof } from "./one-roof.js";
import type { Answer, Route } from "./route.js";
import { PATH_PARAMETERS } from "./schemas.js";

const ABOUT = `Timetables for kitchens on several sites. Days hold documents, each with versions; operations ask about a day, and long ones become jobs.

**Versions.** Every document has an ETag. A change needs \`If-Match\` with the one that was changed (428 without, 412 when somebody was quicker).

**Idempotency.** Every command takes an \`Idempotency-Key\`: sent again with the same key and body it gets the first answer and is not done again. After no answer, or 503, send it again.

**Errors** are problem documents (RFC 9457) with \`errors\` that point into the body (RFC 6901) or at CSV line and column.`;

const localized = <T>(schema: T): T => underOneRoof(schema, "#/components/schemas/");

/** The component that describes what a job of an operation answers. */
export function resultName(operation: string): string {
  return `${operation.replace(/^./, (letter) => letter.toUpperCase())}Result`;
}

function components(): Record<string, unknown> {
  const schemas = allDefinitions();
  for (const operation of OPERATIONS) if (operation.isLong) schemas[resultName(operation.name)] = operation.response;
  return localized(schemas);
}

function content(answer: Answer): Record<string, unknown> | undefined {
  const types = answer.types ?? (answer.schema ? { "application/json": answer.schema } : undefined);
  if (!types) return undefined;
  return Object.fromEntries(Object.entries(types).map(([type, schema]) => [type, { schema: localized(schema) }]));
}

function responseOf(answer: Answer): Record<string, unknown> {
  const headers = Object.entries(answer.headers ?? {}).map(([name, description]) => [
    name,
    { description, schema: { type: "string" } },
  ]);
  const body = content(answer);
  return {
    description: answer.description,
    ...(headers.length > 0 ? { headers: Object.fromEntries(headers) } : {}),
    ...(body ? { content: body } : {}),
  };
}

function parameter(name: string, place: "path" | "query" | "header", schema: JsonSchema, required = false): object {
  const { description, ...rest } = schema;
  return { name, in: place, required, ...(description === undefined ? {} : { description }), schema: rest };
}

function parametersOf(route: Route): object[] {
  const inPath = [...route.path.matchAll(/\{(\w+)\}/g)].map((match) =>
    parameter(match[1]!, "path", PATH_PARAMETERS[match[1]!]!, true),
  );
  const inQuery = Object.entries(route.query ?? {}).map(([name, schema]) => parameter(name, "query", schema));
  const headers = {
    ...(route.method === "GET" ? {} : { "Idempotency-Key": "Any text of 1 to 255 characters." }),
    ...route.headers,
  };
  const inHeader = Object.entries(headers).map(([name, description]) =>
    parameter(name, "header", { type: "string", description }),
  );
  return [...inPath, ...inQuery, ...inHeader];
}

function bodyOf(route: Route): object | undefined {
  if (!route.body) return undefined;
  const types = route.body.kind === "json" ? { "application/json": route.body.schema } : route.body.types;
  const body = Object.entries(types).map(([type, schema]) => [type, { schema: localized(schema) }]);
  return { required: route.body.isOptional !== true, content: Object.fromEntries(body) };
}

function operationOf(route: Route): object {
  const body = bodyOf(route);
  const answers = Object.entries(route.answers).map(([status, answer]) => [status, responseOf(answer)]);
  const about = [route.about, route.role === "anybody" ? "" : `Needs the role ${route.role}.`]
    .filter(Boolean)
    .join(" ");
  return {
    operationId: route.id,
    tags: [route.tag],
    summary: route.summary,
    ...(about === "" ? {} : { description: about }),
    parameters: parametersOf(route),
    ...(body ? { requestBody: body } : {}),
    responses: { ...Object.fromEntries(answers), default: { $ref: "#/components/responses/Problem" } },
    ...(route.role === "anybody" ? { security: [] } : {}),
  };
}

/** The OpenAPI 3.1 document of a table of routes: made from what serves them, so it cannot say anything else. */
export function openApi(routes: readonly Route[], version: string): Record<string, unknown> {
  const paths: Record<string, Record<string, object>> = {};
  for (const route of routes) {
    paths[route.path] ??= {};
    paths[route.path]![route.method.toLowerCase()] = operationOf(route);
  }
  const problems = Object.entries(PROBLEMS).map(
    ([name, [status, title]]) => `- \`/problems/${name}\` (${status}): ${title}`,
  );
  return {
    openapi: "3.1.0",
    info: { title: "Deck & Shelf", version, description: ABOUT },
    servers: [{ url: "/" }],
    tags: [...new Set(routes.map(({ tag }) => tag))].map((name) => ({ name })),
    security: [{}, { token: [] }, { cookie: [] }],
    paths,
    components: {
      schemas: components(),
      responses: {
        Problem: {
          description: `A problem document. Types:\n\n${problems.join("\n")}`,
          content: { "application/problem+json": { schema: { $ref: "#/components/schemas/Problem" } } },
        },
      },
      securitySchemes: {
        token: { type: "http", scheme: "bearer" },
        cookie: { type: "apiKey", in: "cookie", name: "deckshelf" },
      },
    },
  };
}
