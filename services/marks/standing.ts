import type { DayDocuments } from "../../schemas/index.js";
import { begunIssues } from "../../solver/check/begun.js";
import { BadRequest } from "../operations/operation.js";
import { type Told, withMarks } from "./told.js";

/**
 * A stored day with what its stations marked, for an operation. The day's documents passed their checks without the marks, which may tell that something has begun
 * that the catalogue has no more: BadRequest.
 */
export function asMarkedByNow(day: DayDocuments, told: Told): DayDocuments {
  const marked = withMarks(day, told);
  const [issue] = marked === day ? [] : begunIssues(marked);
  if (issue) throw new BadRequest(`${issue.message} ${issue.fix.replace(/\.$/, "")}`);
  return marked;
}
