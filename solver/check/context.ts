import type { DayDocuments, DocumentName, Issue, IssueCode } from "../../schemas/index.js";

/** Gathers what is wrong with a day. */
export class Findings {
  readonly issues: Issue[] = [];

  add(code: IssueCode, document: DocumentName, pointer: string, message: string, fix: string): void {
    this.issues.push({ code, document, pointer, message, fix });
  }
}

/** A check of one theme. It must not assume that another has passed: references may dangle. */
export type Check = (day: DayDocuments, findings: Findings) => void;

export function idsOf(items: readonly { readonly id: string }[]): ReadonlySet<string> {
  return new Set(items.map((item) => item.id));
}

export function list(ids: Iterable<string>): string {
  const all = [...ids];
  return all.length > 12 ? `${all.slice(0, 12).join(", ")} ...` : all.join(", ") || "none";
}
