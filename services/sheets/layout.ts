import type { CellKind, Column, Fact, Sheet, Table } from "../../solver/sheets/index.js";
import { CAUTIONS } from "../../solver/trade/cautions.js";
import { cardHeightMm, factsHeight } from "./boxes.js";
import type { Formatter } from "./format.js";
import { type ColumnText, columnWidths, heightOf, PAGE_WIDTH_MM, rowHeightMm, wrappedLines } from "./measure.js";
import { type LaidRow, rowsOf, withoutEmptyColumns } from "./rows.js";

export type Paper = "a4" | "letter";

/** Inside the margins, less a little for rounding: 297 and 279.4 mm high. */
const PAGE_HEIGHT_MM: Readonly<Record<Paper, number>> = { a4: 275.5, letter: 258 };
/** Type sizes of tables that are tried, largest first; the last two also when a sheet needs several pages. */
const SIZES_PT = [18, 16, 14.5, 13, 12, 11];
/** Below this a page is not filled for the sake of fewer pages. */
const SEVERAL_PT = [12, 11];
const SMALL_PT = 11;
const FOOT_PT = 9;
/** What the site's name and the date leave for the title. */
const HEAD_MM = PAGE_WIDTH_MM - 62;
export interface LaidTable {
  readonly id: string;
  readonly title: string | undefined;
  readonly shape: "table" | "cards";
  readonly columns: readonly Column[];
  readonly widthsMm: readonly number[];
  readonly rows: readonly LaidRow[];
  /** Height of each card; 0 for tables. */
  readonly cardMm: number;
}

/** One page of a sheet. */
export interface Page {
  readonly sheet: Sheet;
  readonly number: number;
  readonly of: number;
  readonly pt: number;
  readonly facts: readonly { readonly fact: Fact; readonly text: string }[];
  readonly tables: readonly LaidTable[];
  readonly hasDrawings: boolean;
}

function textOf(table: Table, rows: readonly LaidRow[]): ColumnText[] {
  return table.columns.map((column, i) => ({
    as: column.as,
    title: column.title,
    cells: rows.flatMap((row) => (row.kind === "cells" ? [row.cells[i]!] : [])),
  }));
}

function dayHeight(pt: number): number {
  return heightOf(1, pt) + 2.5;
}

function headHeight(table: Pick<LaidTable, "title" | "columns" | "shape">, pt: number): number {
  if (table.shape === "cards") return 2.5;
  const title = table.title === undefined ? 0 : heightOf(1, pt) + 3;
  const head = table.columns.some((column) => column.title !== "") ? heightOf(1, pt * 0.72) + 2 : 0;
  return title + head + 2;
}

export const DRAWING_HEIGHT_MM = 34;

export function allergensText(allergens: readonly string[]): string {
  return `Allergens: ${allergens.length > 0 ? allergens.join(", ") : "none declared for what is on this sheet"}`;
}

/** Everything but tables and drawings. */
function fixedHeight(sheet: Sheet, facts: Page["facts"], footText: string): number {
  const lines = (texts: readonly string[], pt: number, isBold = false): number =>
    texts.reduce((sum, text) => sum + wrappedLines(text, PAGE_WIDTH_MM - 7, pt, isBold) * heightOf(1, pt) + 0.7, 0);
  const title = wrappedLines(sheet.title, HEAD_MM, 25, true) * heightOf(1, 25);
  const subtitle = wrappedLines(sheet.subtitle, HEAD_MM, 12) * heightOf(1, 12);
  const head = Math.max(title + subtitle, heightOf(3, 12)) + 5.2;
  const allergens = sheet.allergens === null ? 0 : lines([allergensText(sheet.allergens)], 12.5, true) + 5.5;
  const cautions = lines(
    sheet.cautions.map((caution) => CAUTIONS[caution]),
    SMALL_PT,
  );
  return (
    head +
    factsHeight(facts) +
    allergens +
    cautions +
    lines(sheet.notes, SMALL_PT) +
    // The id is not broken.
    heightOf(wrappedLines(`${footText}    ${sheet.id.replaceAll("-", "_")}`, PAGE_WIDTH_MM, FOOT_PT), FOOT_PT) +
    2
  );
}

interface Sized {
  readonly tables: readonly (LaidTable & { readonly heights: readonly number[] })[];
  readonly pt: number;
}

const kindsOf = (table: Table): CellKind[] => table.columns.map(({ as }) => as);

/** All tables at one type size; null when a column does not fit its words. */
function sizeTables(sheet: Sheet, rows: readonly (readonly LaidRow[])[], pt: number): Sized | null {
  const tables: Sized["tables"][number][] = [];
  for (const [i, table] of sheet.tables.entries()) {
    const own = rows[i]!;
    const base = { id: table.id, title: table.title, columns: table.columns, rows: own };
    if (table.shape === "cards") {
      const cardMm = cardHeightMm(own, table.columns);
      tables.push({ ...base, shape: "cards", widthsMm: [], cardMm, heights: own.map(() => cardMm / 2) });
      continue;
    }
    const widthsMm = columnWidths(textOf(table, own), PAGE_WIDTH_MM, pt);
    if (!widthsMm) return null;
    const heights = own.map((row) =>
      row.kind === "day" ? dayHeight(pt) : rowHeightMm(row.cells, kindsOf(table), widthsMm, pt),
    );
    tables.push({ ...base, shape: "table", widthsMm, cardMm: 0, heights });
  }
  return { tables, pt };
}

function tablesHeight({ tables, pt }: Sized): number {
  return tables.reduce((sum, table) => {
    const rows = table.heights.reduce((a, b) => a + b, 0);
    const odd = table.shape === "cards" && table.heights.length % 2 === 1 ? table.cardMm / 2 : 0;
    return sum + headHeight(table, pt) + rows + odd;
  }, 0);
}

/** Cuts tables into pages of so much room, the first one with drawings; a day's name goes with its first row and is repeated on the next page. */
function cut({ tables, pt }: Sized, room: number, drawn: number): LaidTable[][] {
  const pages: LaidTable[][] = [[]];
  let left = room - drawn;
  for (const table of tables) {
    let rows: LaidRow[] = [];
    let day: LaidRow | null = null;
    const flush = (): void => {
      const last = rows.at(-1);
      if (last?.kind === "day") rows.pop();
      if (rows.length > 0) pages.at(-1)!.push({ ...table, rows });
      rows = [];
    };
    const turn = (): void => {
      flush();
      pages.push([]);
      left = room - headHeight(table, pt);
      if (day) {
        rows.push(day);
        left -= dayHeight(pt);
      }
    };
    const first = (table.heights[0] ?? 0) + (table.rows[0]?.kind === "day" ? (table.heights[1] ?? 0) : 0);
    if (left < headHeight(table, pt) + first && pages.at(-1)!.length > 0) {
      pages.push([]);
      left = room;
    }
    left -= headHeight(table, pt);
    table.rows.forEach((row, i) => {
      const inPair = table.shape === "cards" && i % 2 === 0;
      const need = inPair
        ? table.cardMm
        : row.kind === "day"
          ? table.heights[i]! + (table.heights[i + 1] ?? 0)
          : table.heights[i]!;
      if (need > left && !(table.shape === "cards" && !inPair)) turn();
      if (row.kind === "day") {
        if (rows.at(-1)?.kind === "day") rows.pop();
        day = row;
      }
      rows.push(row);
      left -= inPair ? table.cardMm : table.shape === "cards" ? 0 : table.heights[i]!;
    });
    flush();
  }
  return pages.filter((page) => page.length > 0);
}

/** Lays a sheet out: one page in the largest type that fits, else several. */
export function pagesOf(given: Sheet, formatter: Formatter, footText: string, paper: Paper): Page[] {
  const sheet = { ...given, tables: given.tables.map(withoutEmptyColumns) };
  const facts = sheet.facts.map((fact) => ({
    fact,
    text: formatter.lines(fact.value, fact.as, formatter.date(sheet.from)).join(" "),
  }));
  const rows = sheet.tables.map((table) => rowsOf(table, formatter));
  const fixed = fixedHeight(sheet, facts, footText);
  const drawn = sheet.drawings.length > 0 ? DRAWING_HEIGHT_MM + 8 : 0;
  const room = PAGE_HEIGHT_MM[paper] - fixed;
  for (const pt of SIZES_PT) {
    const sized = sizeTables(sheet, rows, pt);
    if (!sized || tablesHeight(sized) + drawn > room) continue;
    return [{ sheet, number: 1, of: 1, pt, facts, tables: sized.tables, hasDrawings: drawn > 0 }];
  }
  const sized =
    SEVERAL_PT.map((pt) => sizeTables(sheet, rows, pt)).find((candidate) => candidate !== null) ??
    forced(sheet, rows, SEVERAL_PT.at(-1)!);
  const pages = cut(sized, room, drawn);
  return pages.map((tables, i) => ({
    sheet,
    number: i + 1,
    of: pages.length,
    pt: sized.pt,
    facts,
    tables,
    hasDrawings: drawn > 0 && i === 0,
  }));
}

/** Equal columns with words broken anywhere: the last resort of a table with very many columns. */
function forced(sheet: Sheet, rows: readonly (readonly LaidRow[])[], pt: number): Sized {
  return {
    pt,
    tables: sheet.tables.map((table, i) => {
      const own = rows[i]!;
      const widthsMm = table.columns.map(() => PAGE_WIDTH_MM / table.columns.length);
      const heights = own.map((row) =>
        row.kind === "day" ? dayHeight(pt) : rowHeightMm(row.cells, kindsOf(table), widthsMm, pt),
      );
      return {
        id: table.id,
        title: table.title,
        shape: table.shape ?? "table",
        columns: table.columns,
        widthsMm,
        rows: own,
        cardMm: table.shape === "cards" ? cardHeightMm(own, table.columns) : 0,
        heights,
      };
    }),
  };
}
