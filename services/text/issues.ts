import type { Issue } from "../../schemas/index.js";

/** Issues for a reader: where, what, and what would mend it. */
export function issuesText(issues: readonly Issue[]): string {
  const lines = issues.flatMap((issue) => {
    const where =
      issue.line === undefined
        ? `${issue.document}${issue.pointer === "" ? "" : ` ${issue.pointer}`}`
        : `${issue.document} line ${issue.line}, column ${issue.column ?? 1}${issue.pointer === "" ? "" : ` (${issue.pointer})`}`;
    return [`  ${where}: ${issue.message}`, `      ${issue.fix} [${issue.code}]`];
  });
  return [`${issues.length} ${issues.length === 1 ? "problem" : "problems"} in the documents`, ...lines].join("\n");
}
