import type { Response } from "express";
import type { JsonSchema } from "../operations/operation.js";
import type { Actor, Role } from "./actor.js";
import type { Services } from "./services.js";

/** What a route answers with. */
export interface Reply {
  readonly status: number;
  readonly headers?: Readonly<Record<string, string>>;
  /** Sent as JSON. */
  readonly json?: unknown;
  /** Sent as it is, with its type. */
  readonly text?: string;
  readonly type?: string;
  /** Takes the response over: event streams. */
  readonly stream?: (response: Response) => void;
}

/** A request as routes see it: checked, and who asks. */
export interface Asked {
  readonly actor: Actor;
  readonly services: Services;
  readonly method: string;
  /** Path and query as sent. */
  readonly address: string;
  readonly params: Readonly<Record<string, string>>;
  readonly query: Readonly<Record<string, unknown>>;
  readonly header: (name: string) => string | undefined;
  /** Parsed and checked by the route's schema, for bodies of kind json. */
  readonly body: unknown;
  /** The body as it came. */
  readonly bytes: Uint8Array;
  /** Of a text body. */
  readonly mediaType: string;
  readonly at: string;
  /** Over TLS, or said so by a proxy in front. */
  readonly isSecure: boolean;
}

export type Body =
  /** Parsed in this thread, so small; checked by the schema. */
  | { readonly kind: "json"; readonly schema: JsonSchema; readonly isOptional?: boolean }
  /** Left as it came to the checker's thread. */
  | { readonly kind: "text"; readonly types: Readonly<Record<string, JsonSchema>>; readonly isOptional?: boolean };

export interface Answer {
  readonly description: string;
  /** Of the JSON; or by media type. */
  readonly schema?: JsonSchema;
  readonly types?: Readonly<Record<string, JsonSchema>>;
  readonly headers?: Readonly<Record<string, string>>;
}

/** One address and method: everything that serving and documenting it needs. */
export interface Route {
  readonly id: string;
  readonly method: "GET" | "PUT" | "POST" | "DELETE";
  /** With parameters in braces, as in OpenAPI. */
  readonly path: string;
  readonly tag: string;
  readonly summary: string;
  readonly about?: string;
  /** The least role; "anybody" needs no token. */
  readonly role: Role | "anybody";
  readonly query?: Readonly<Record<string, JsonSchema>>;
  readonly headers?: Readonly<Record<string, string>>;
  readonly body?: Body;
  readonly answers: Readonly<Record<number, Answer>>;
  readonly handle: (asked: Asked) => Promise<Reply>;
}
