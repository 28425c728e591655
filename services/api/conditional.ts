import type { DocumentName } from "../../schemas/index.js";
import type { DayRecord } from "../days/day.js";
import { Problem } from "../problem.js";
import type { Asked, Reply } from "./route.js";

export function dayTag(day: DayRecord): string {
  return `"day-${day.change}"`;
}

export function documentTag(document: string, version: number): string {
  return `"${document}-${version}"`;
}

/** The tag of a day's document as it holds now; undefined when it has none. */
export function tagOf(day: DayRecord, document: DocumentName): string | undefined {
  const version = day.versions[document];
  return version === undefined ? undefined : documentTag(document, version);
}

/** Tags of an If-Match or If-None-Match header; "*" alone stands for anything. */
function tags(header: string): string[] {
  return header.split(",").map((tag) => tag.trim().replace(/^W\//, ""));
}

/** Nobody changes what he has not seen: refuses unless the request names the current tag (undefined: it must be new). */
export function mustMatch(asked: Asked, current: string | undefined): void {
  const header = asked.header("if-match");
  const none = asked.header("if-none-match");
  if (none === "*" && header === undefined) {
    if (current === undefined) return;
    throw new Problem("changed-meanwhile", "It is there already; send If-Match with its ETag to change it.", {
      current,
    });
  }
  if (header === undefined)
    throw new Problem(
      "version-needed",
      current === undefined
        ? "Send If-None-Match: * to make it."
        : "Send If-Match with the ETag of what you change, so that nobody's work is lost.",
      current === undefined ? {} : { current },
    );
  if (current !== undefined && (header.trim() === "*" || tags(header).includes(current))) return;
  throw new Problem("changed-meanwhile", "Somebody changed it since you read it; read it again.", {
    ...(current === undefined ? {} : { current }),
  });
}

/** 304 when the asker has this already. */
export function unlessKnown(asked: Asked, tag: string, reply: () => Reply | Promise<Reply>): Reply | Promise<Reply> {
  const header = asked.header("if-none-match");
  if (header !== undefined && (header.trim() === "*" || tags(header).includes(tag)))
    return { status: 304, headers: { ETag: tag } };
  return reply();
}
