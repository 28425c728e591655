import { HOUR, type Span } from "./clock.js";
import { mostIn } from "./levels.js";
import { type LaidRow, layRows } from "./rows/layout.js";
import type { Row } from "./rows/types.js";

/** One page of the printed timetable: some hours of some rows, laid out from its top. */
export interface PrintedPage {
  readonly span: Span;
  readonly rows: readonly LaidRow[];
  readonly height: number;
}

interface Paper {
  /** At most so many hours beside one another. */
  readonly hours: number;
  /** Room for rows, px. */
  readonly heightPx: number;
  readonly roomy: number;
}

function meets(one: Span, other: Span): boolean {
  return one.fromMs < other.toMs && one.toMs > other.fromMs;
}

/** Whether the row has anything to show in these hours. */
function isBusy(row: Row, span: Span): boolean {
  if (row.out.some((out) => meets(out, span)) || row.bars.some((bar) => meets(bar, span))) return true;
  if (row.heats?.some((heat) => meets(heat, span))) return true;
  return row.gauge !== undefined && mostIn(row.gauge.levels, span.fromMs, span.toMs) > 0;
}

/** The day in equal parts of whole hours. */
export function stripsOf(day: Span, hours: number): Span[] {
  const all = Math.ceil((day.toMs - day.fromMs) / HOUR);
  const each = Math.ceil(all / Math.max(1, Math.ceil(all / hours))) * HOUR;
  const strips: Span[] = [];
  for (let fromMs = day.fromMs; fromMs < day.toMs; fromMs += each) strips.push({ fromMs, toMs: fromMs + each });
  return strips;
}

/**
 * The whole timetable over pages: hours after hours, and within them as many rows as a page has room for. Every page begins with the name of
 * the site that its first row belongs to. Rows without anything in the hours of a page are left out there.
 */
export function printedPages(rows: readonly Row[], day: Span, paper: Paper): PrintedPage[] {
  const heads = new Map(rows.filter((row) => row.station === "site").map((row) => [row.site, row]));
  const pages: PrintedPage[] = [];
  for (const span of stripsOf(day, paper.hours)) {
    let page: Row[] = [];
    const close = (): void => {
      if (page.length === 0) return;
      const { rows: laid, height } = layRows(page, paper.roomy);
      pages.push({ span, rows: laid, height });
      page = [];
    };
    for (const row of rows) {
      if (row.station === "site" || !isBusy(row, span)) continue;
      const head = heads.get(row.site);
      const isNext = page.at(-1)?.site === row.site;
      const more = isNext || !head ? [row] : [head, row];
      if (page.length > 0 && layRows([...page, ...more], paper.roomy).height > paper.heightPx) {
        close();
        page = head ? [head, row] : [row];
      } else page.push(...more);
    }
    close();
  }
  return pages;
}
