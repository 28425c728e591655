import type { Route } from "../route.js";
import { dayRoutes } from "./days.js";
import { jobRoutes } from "./jobs.js";
import { metaRoutes } from "./meta.js";
import { operationRoutes } from "./operations.js";

/** Every address. Serving, checking and the OpenAPI document come from this table. */
export const ROUTES: readonly Route[] = [...metaRoutes, ...dayRoutes, ...operationRoutes, ...jobRoutes];
