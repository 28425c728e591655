import { COOKIE } from "../../access/authenticate.js";
import {
  actorOf,
  endToken,
  listTokens,
  makeToken,
  type NewToken,
  rotateToken,
  shownToken,
} from "../../access/tokens.js";
import { Problem } from "../../problem.js";
import type { AuditRecord } from "../command.js";
import { command, mustHaveNoKey } from "../command.js";
import type { Route } from "../route.js";
import { ref } from "../schemas.js";

const TOKEN_ANSWER = {
  type: "object",
  required: ["token", "record"],
  properties: { token: { type: "string", description: "Told once; keep it." }, record: ref("Token") },
} as const;

/** Tokens, signing in, and who did what. */
export const accessRoutes: readonly Route[] = [
  {
    id: "signIn",
    method: "POST",
    path: "/api/session",
    tag: "Access",
    summary: "Sign a browser in with a token",
    about: "Sets a cookie that scripts cannot read and other sites' pages do not send.",
    role: "anybody",
    body: {
      kind: "json",
      schema: {
        type: "object",
        additionalProperties: false,
        required: ["token"],
        properties: { token: { type: "string", maxLength: 200 } },
      },
    },
    answers: { 204: { description: "Signed in.", headers: { "Set-Cookie": "The cookie." } } },
    handle: async ({ services, body, isSecure }) => {
      const { token } = body as { token: string };
      const actor = await actorOf(services.store, token, Date.now());
      if (!actor) throw new Problem("sign-in-needed", "This token is not known, or over.");
      const secure = isSecure ? "; Secure" : "";
      return {
        status: 204,
        headers: { "Set-Cookie": `${COOKIE}=${token}; Path=/; HttpOnly; SameSite=Strict; Max-Age=2592000${secure}` },
      };
    },
  },
  {
    id: "signOut",
    method: "DELETE",
    path: "/api/session",
    tag: "Access",
    summary: "Sign a browser out",
    role: "anybody",
    answers: { 204: { description: "Signed out." } },
    handle: async () => ({
      status: 204,
      headers: { "Set-Cookie": `${COOKIE}=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0` },
    }),
  },
  {
    id: "listTokens",
    method: "GET",
    path: "/api/tokens",
    tag: "Access",
    summary: "All tokens, without their secrets",
    role: "owner",
    answers: {
      200: {
        description: "By age.",
        schema: {
          type: "object",
          required: ["tokens"],
          properties: { tokens: { type: "array", items: ref("Token") } },
        },
      },
    },
    handle: async ({ services }) => ({
      status: 200,
      json: { tokens: (await listTokens(services.store)).map(shownToken) },
    }),
  },
  {
    id: "makeToken",
    method: "POST",
    path: "/api/tokens",
    tag: "Access",
    summary: "Make a token",
    about: "Takes no idempotency key: its answer is a secret, and secrets are not kept.",
    role: "owner",
    body: { kind: "json", schema: ref("NewToken") },
    answers: { 201: { description: "The token.", schema: TOKEN_ANSWER } },
    handle: async (asked) => {
      mustHaveNoKey(asked);
      const fresh = asked.body as NewToken;
      return command(asked, "make-token", fresh.name, async (tx) => {
        const { record, text } = makeToken(tx, fresh, asked.at);
        return {
          status: 201,
          json: { token: text, record: shownToken(record) },
          headers: { "Cache-Control": "no-store" },
        };
      });
    },
  },
  {
    id: "rotateToken",
    method: "POST",
    path: "/api/tokens/{token}/rotate",
    tag: "Access",
    summary: "A new secret for a token; the old one ends",
    role: "owner",
    answers: { 200: { description: "The token.", schema: TOKEN_ANSWER } },
    handle: async (asked) => {
      mustHaveNoKey(asked);
      const id = asked.params.token!;
      return command(asked, "rotate-token", id, async (tx) => {
        const { record, text } = await rotateToken(tx, id, asked.at);
        return {
          status: 200,
          json: { token: text, record: shownToken(record) },
          headers: { "Cache-Control": "no-store" },
        };
      });
    },
  },
  {
    id: "endToken",
    method: "DELETE",
    path: "/api/tokens/{token}",
    tag: "Access",
    summary: "End a token",
    role: "owner",
    answers: { 204: { description: "It is over." } },
    handle: async (asked) =>
      command(asked, "end-token", asked.params.token!, async (tx) => {
        await endToken(tx, asked.params.token!);
        return { status: 204 };
      }),
  },
  {
    id: "readAudit",
    method: "GET",
    path: "/api/audit",
    tag: "Access",
    summary: "Who did what, the newest first",
    role: "owner",
    query: {
      before: { type: "string", pattern: "^[0-9a-z]{26}$" },
      limit: { type: "integer", minimum: 1, maximum: 500, default: 100 },
    },
    answers: {
      200: {
        description: "Every command that was done.",
        schema: {
          type: "object",
          required: ["entries"],
          properties: { entries: { type: "array", items: ref("AuditEntry") } },
        },
      },
    },
    handle: async ({ services, query }) => {
      const { before, limit } = query as { before?: string; limit: number };
      const records = await services.store.list("audit/", {
        backwards: true,
        limit,
        ...(before === undefined ? {} : { after: `audit/${before}` }),
      });
      const entries = records.map(({ key, value }) => ({
        id: key.slice("audit/".length),
        ...(JSON.parse(value) as AuditRecord),
      }));
      return { status: 200, json: { entries } };
    },
  },
];
