import type { Request } from "express";
import { Problem } from "../problem.js";

const NAMES = /^(localhost|127(\.\d{1,3}){3}|\[::1\])(:\d{1,5})?$/i;

export function isLoopbackAddress(host: string): boolean {
  return /^(localhost|127(\.\d{1,3}){3}|::1)$/i.test(host);
}

/**
 * A server without login answers only to loopback names, and takes changes only from its own pages: so a web page from elsewhere, open in the planner's
 * browser, can neither read nor change anything through it.
 */
export function mustBeFromHere(request: Request): void {
  const host = request.headers.host ?? "";
  if (!NAMES.test(host))
    throw new Problem(
      "not-allowed",
      "Without login this server answers only to localhost; start it with tokens to use another name.",
    );
  const origin = request.headers.origin;
  if (origin !== undefined && origin !== `http://${host}`)
    throw new Problem("not-allowed", "This request comes from a page of another site.");
  if (request.headers["sec-fetch-site"] === "cross-site" && request.method !== "GET")
    throw new Problem("not-allowed", "This request comes from a page of another site.");
}
