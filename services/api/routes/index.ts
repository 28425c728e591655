import { OPERATIONS } from "../../operations/index.js";
import type { JsonSchema } from "../../operations/operation.js";
import { DOCS_CSS, docsPage } from "../docs-page.js";
import { openApi } from "../openapi.js";
import type { Route } from "../route.js";
import { accessRoutes } from "./access.js";
import { dayRoutes } from "./days.js";
import { documentRoutes } from "./documents.js";
import { jobRoutes } from "./jobs.js";
import { markRoutes } from "./marks.js";
import { metaRoutes } from "./meta.js";
import { operationRoutes } from "./operations.js";
import { sheetRoutes } from "./sheets.js";

const SERVED: readonly Route[] = [
  ...metaRoutes,
  ...dayRoutes,
  ...documentRoutes,
  ...operationRoutes,
  ...jobRoutes,
  ...markRoutes,
  ...sheetRoutes,
  ...accessRoutes,
];

/** The API about itself. */
const docRoutes: readonly Route[] = [
  {
    id: "readOpenApi",
    method: "GET",
    path: "/api/openapi.json",
    tag: "Server",
    summary: "This API as an OpenAPI 3.1 document",
    role: "anybody",
    answers: { 200: { description: "The document.", schema: { type: "object" } } },
    handle: async ({ services }) => ({ status: 200, json: openApi(ROUTES, services.version) }),
  },
  {
    id: "readDocs",
    method: "GET",
    path: "/api/docs",
    tag: "Server",
    summary: "This API for readers",
    role: "anybody",
    answers: { 200: { description: "A page.", types: { "text/html": { type: "string" } } } },
    handle: async ({ services }) => ({ status: 200, type: "text/html", text: docsPage(ROUTES, services.version) }),
  },
  {
    id: "readDocsStyle",
    method: "GET",
    path: "/api/docs.css",
    tag: "Server",
    summary: "The look of that page",
    role: "anybody",
    answers: { 200: { description: "A style sheet.", types: { "text/css": { type: "string" } } } },
    handle: async () => ({ status: 200, type: "text/css", text: DOCS_CSS }),
  },
];

/** Every address. Serving, checking and the OpenAPI document come from this table. */
export const ROUTES: readonly Route[] = [...docRoutes, ...SERVED];

/** What the server's own thread checks bodies by; everything else is checked in the checker's. */
export const CHECKED_HERE: readonly JsonSchema[] = [
  ...ROUTES.flatMap(({ body }) => (body?.kind === "json" ? [body.schema] : [])),
  ...OPERATIONS.map(({ request }) => request),
];
