import type { Issue } from "../schemas/index.js";
import type { Breach } from "../solver/index.js";

/** One thing wrong in a request, for the `errors` of a problem document. */
export interface ProblemError {
  readonly detail: string;
  /** RFC 6901, into the body; or the name of a parameter. */
  readonly pointer?: string;
  readonly parameter?: string;
  readonly code?: string;
  readonly document?: string;
  readonly line?: number;
  readonly column?: number;
  readonly fix?: string;
}

/** Everything that an HTTP request can be refused for: status and title. `type` is `/problems/<name>`. */
export const PROBLEMS = {
  "bad-request": [400, "The request cannot be read"],
  "not-json": [400, "The body is not JSON"],
  "sign-in-needed": [401, "A token is needed"],
  "not-allowed": [403, "This token may not do that"],
  "not-found": [404, "There is no such thing here"],
  "method-not-allowed": [405, "This address does not take that method"],
  "not-acceptable": [406, "It cannot be had in that form"],
  "exists-already": [409, "There is one already"],
  "job-not-ready": [409, "The job has no result yet"],
  "job-over": [409, "The job is over"],
  gone: [410, "It was here and is no more"],
  "changed-meanwhile": [412, "It was changed meanwhile"],
  "body-too-big": [413, "The body is too big"],
  "media-type": [415, "The body is of a type that is not read here"],
  "bad-documents": [422, "The documents are not in order"],
  "breaks-rules": [422, "The timetable breaks rules"],
  "key-used": [422, "The idempotency key was used for another request"],
  "version-needed": [428, "Say which version you change"],
  "too-many": [429, "Too many requests"],
  "queue-share": [429, "Too many jobs wait already"],
  "job-failed": [500, "The job failed"],
  fault: [500, "A fault in the program"],
  unavailable: [503, "Not ready now"],
  draining: [503, "This server is about to end"],
} as const satisfies Record<string, readonly [number, string]>;

export type ProblemName = keyof typeof PROBLEMS;

/** Thrown anywhere below a route; becomes a problem document (RFC 9457). */
export class Problem extends Error {
  constructor(
    readonly kind: ProblemName,
    readonly detail: string,
    readonly more: { readonly errors?: readonly ProblemError[]; readonly [field: string]: unknown } = {},
    readonly headers: Readonly<Record<string, string>> = {},
  ) {
    super(detail);
  }

  get status(): number {
    return PROBLEMS[this.kind][0];
  }

  toJSON(): object {
    const [status, title] = PROBLEMS[this.kind];
    return { type: `/problems/${this.kind}`, title, status, detail: this.detail, ...this.more };
  }
}

/** Issues of documents as a problem: each with its document, pointer or CSV place, and what mends it. */
export function badDocuments(issues: readonly Issue[], count = issues.length): Problem {
  const errors = issues.map(({ message, ...rest }) => ({ detail: message, ...rest }));
  const many = `${count} ${count === 1 ? "thing is" : "things are"} wrong in the documents; nothing was stored.`;
  return new Problem("bad-documents", many, { errors });
}

export function breaksRules(breaches: readonly Breach[]): Problem {
  const errors = breaches.slice(0, 100).map(({ message, ...rest }) => ({ detail: message, ...rest }));
  return new Problem("breaks-rules", `The verifier found ${breaches.length} breaches; nothing was stored.`, { errors });
}
