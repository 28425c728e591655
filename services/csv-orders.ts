import { type CsvPlaces, readOrdersCsv } from "../schemas/csv.js";
import type { DayDocuments, Issue, Orders } from "../schemas/index.js";
import { validateDocument } from "../schemas/validate.js";
import { checkDay } from "../solver/check/index.js";

/** Orders that came as CSV, with everything that is wrong with them by themselves. */
export interface CsvOrders {
  readonly orders: Orders;
  readonly issues: readonly Issue[];
  readonly places: CsvPlaces;
  /** Places in the list of the lines that nothing is wrong with: these can be checked with the other documents all the same. */
  readonly whole: readonly number[];
}

/** The line of the list that a pointer is into. */
function lineOf(pointer: string): number | undefined {
  const match = /^\/lines\/(\d+)/.exec(pointer);
  return match ? Number(match[1]) : undefined;
}

/** An issue of orders that came as CSV, with the line and column that it stands for. */
export function placed(issue: Issue, places: CsvPlaces | undefined): Issue {
  const place = issue.document === "orders" && issue.line === undefined ? places?.(issue.pointer) : undefined;
  return place ? { ...issue, ...place } : issue;
}

export function readCsvOrders(text: string): CsvOrders {
  const { orders, issues: csv, places } = readOrdersCsv(text);
  // Without a header that can be read there is nothing to say of the lines.
  if (csv.some(({ pointer }) => pointer === "")) return { orders, issues: csv, places, whole: [] };
  const told = new Set(csv.map(({ pointer }) => pointer));
  const issues = [...csv];
  for (const issue of validateDocument("orders", orders)) {
    const line = lineOf(issue.pointer);
    // A cell that could not be read is told once, and cells of a row with too many or too few are not where they belong.
    if (told.has(issue.pointer) || (line !== undefined && told.has(`/lines/${line}`))) continue;
    issues.push(placed(issue, places));
  }
  issues.sort((a, b) => (a.line ?? 0) - (b.line ?? 0) || (a.column ?? 0) - (b.column ?? 0));
  const wrong = new Set(issues.map(({ pointer }) => lineOf(pointer)));
  return { orders, issues, places, whole: orders.lines.flatMap((_, i) => (wrong.has(i) ? [] : [i])) };
}

/** What is wrong between the documents, as far as the lines that are whole tell; `day` is in order but for its orders. */
export function checkWithWholeLines(day: Omit<DayDocuments, "orders">, { orders, places, whole }: CsvOrders): Issue[] {
  if (whole.length === 0) return [];
  const lines = whole.map((i) => orders.lines[i]!);
  return checkDay({ ...day, orders: { ...orders, lines } }).flatMap((issue) => {
    // It may be one of those left out.
    if (issue.code === "unknown-line") return [];
    const line = issue.document === "orders" ? lineOf(issue.pointer) : undefined;
    if (line === undefined) return [issue];
    const pointer = issue.pointer.replace(/^\/lines\/\d+/, `/lines/${whole[line]}`);
    return [placed({ ...issue, pointer }, places)];
  });
}
