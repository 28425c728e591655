import { CsvError, parse } from "csv-parse/sync";
import type { Issue, IssueCode, OrderLine, Orders } from "./index.js";

/** Columns of orders.csv: the fields of an order line. */
const COLUMNS = [
  "id",
  "product",
  "pieces",
  "site",
  "due",
  "priority",
  "freshWithinMinutes",
  "madeAt",
  "customer",
] as const;
type Column = (typeof COLUMNS)[number];
const NEEDED: readonly Column[] = ["id", "product", "pieces", "site", "due"];
const NUMBERS: readonly Column[] = ["pieces", "priority", "freshWithinMinutes"];

/** What spreadsheets put between cells besides commas. */
const SEPARATORS: readonly (readonly [string, string])[] = [
  [";", "semicolons"],
  ["\t", "tabs"],
  ["|", "vertical bars"],
];

/** Where an orders pointer is in the CSV file: line and column of the table, from 1. */
export type CsvPlaces = (pointer: string) => { readonly line: number; readonly column: number } | undefined;

export interface ReadOrders {
  readonly orders: Orders;
  readonly issues: Issue[];
  readonly places: CsvPlaces;
}

interface Row {
  readonly record: string[];
  readonly info: { readonly lines: number };
}

function parseRows(text: string): { rows: Row[] } | { issue: Issue } {
  try {
    const rows = parse(text, {
      bom: true,
      info: true,
      relax_column_count: true,
      skip_empty_lines: true,
    }) as unknown as Row[];
    return { rows };
  } catch (error) {
    const line = error instanceof CsvError && typeof error.lines === "number" ? error.lines : 1;
    const column = error instanceof CsvError && typeof error.index === "number" ? error.index + 1 : 1;
    const message = error instanceof Error ? error.message : String(error);
    return {
      issue: {
        code: "csv-quoting",
        document: "orders",
        pointer: "",
        line,
        column,
        message: `Not CSV: ${message}.`,
        fix: 'Put the cell in double quotes and write a quote inside it as "".',
      },
    };
  }
}

class OrdersReader {
  readonly issues: Issue[] = [];
  readonly lines: OrderLine[] = [];
  private readonly lineNumbers: number[] = [];
  private readonly columnOf = new Map<string, number>();

  private add(code: IssueCode, pointer: string, line: number, column: number, message: string, fix: string): void {
    this.issues.push({ code, document: "orders", pointer, line, column, message, fix });
  }

  /** False, and told, when the header's cells are separated by something else: then no cell can be read. */
  hasCommas(header: string): boolean {
    const found = SEPARATORS.find(([mark]) => {
      const names = header.split(mark).map((name) => name.trim().replace(/^"(.*)"$/, "$1"));
      return names.length > 1 && names.some((name) => (COLUMNS as readonly string[]).includes(name));
    });
    if (!found || header.includes(",")) return true;
    const [mark, word] = found;
    this.add(
      "csv-separator",
      "",
      1,
      header.indexOf(mark) + 1,
      `The cells are separated by ${word}; in orders.csv they must be separated by commas.`,
      "Save it again as CSV with commas between the cells, text that has commas in it in double quotes, and a point for decimals.",
    );
    return false;
  }

  header(names: readonly string[]): void {
    names.forEach((raw, i) => {
      const name = raw.trim();
      if (this.columnOf.has(name))
        this.add("csv-duplicate-column", "", 1, i + 1, `The column ${name} is there twice.`, "Remove one of them.");
      else if (!(COLUMNS as readonly string[]).includes(name))
        this.add(
          "csv-unknown-column",
          "",
          1,
          i + 1,
          `Orders have no column ${JSON.stringify(name)}.`,
          `Columns are ${COLUMNS.join(", ")}.`,
        );
      else this.columnOf.set(name, i);
    });
    for (const name of NEEDED) {
      if (!this.columnOf.has(name))
        this.add(
          "csv-missing-column",
          "",
          1,
          names.length + 1,
          `The column ${name} is missing.`,
          `Add ${name} to the header and to every row.`,
        );
    }
  }

  row(record: readonly string[], width: number, line: number): void {
    const index = this.lines.length;
    this.lineNumbers.push(line);
    const isWhole = record.length === width;
    // Its cells are not where they belong: what they are is not told.
    if (!isWhole)
      this.add(
        "csv-cell-count",
        `/lines/${index}`,
        line,
        Math.min(record.length, width) + 1,
        `This row has ${record.length} cells, the header ${width}.`,
        "Give every row as many cells as the header; put text with commas in quotes.",
      );
    const order: Record<string, string | number> = {};
    for (const [name, i] of this.columnOf) {
      const text = (record[i] ?? "").trim();
      const pointer = `/lines/${index}/${name}`;
      if (text === "") {
        if ((NEEDED as readonly string[]).includes(name) && isWhole)
          this.add("csv-empty-cell", pointer, line, i + 1, `${name} is empty.`, `Fill in ${name}.`);
        continue;
      }
      if (!(NUMBERS as readonly string[]).includes(name)) {
        order[name] = unguard(text);
        continue;
      }
      // 1.000 may be a thousand, as many spreadsheets write it, or one.
      if (name !== "priority" && /^[+-]?\d{1,3}(\.\d{3})+$/.test(text)) {
        if (isWhole)
          this.add(
            "csv-not-a-number",
            pointer,
            line,
            i + 1,
            `${JSON.stringify(text)} can be read as thousands or as a fraction.`,
            "Write digits only, without a point between thousands.",
          );
        continue;
      }
      const value = Number(text);
      if (/^[+-]?(\d+\.?\d*|\.\d+)$/.test(text)) order[name] = value;
      else if (isWhole)
        this.add(
          "csv-not-a-number",
          pointer,
          line,
          i + 1,
          `${JSON.stringify(text)} is not a number.`,
          "Write digits only, with a point for decimals.",
        );
    }
    this.lines.push(order as unknown as OrderLine);
  }

  place(pointer: string): { line: number; column: number } | undefined {
    const match = /^\/lines\/(\d+)(?:\/([^/]+))?/.exec(pointer);
    if (!match) return undefined;
    const line = this.lineNumbers[Number(match[1])];
    if (line === undefined) return undefined;
    return { line, column: (this.columnOf.get(match[2] ?? "id") ?? 0) + 1 };
  }
}

/** Reads orders from CSV text (RFC 4180, header row). What cannot be read is an issue; nothing is guessed. */
export function readOrdersCsv(text: string): ReadOrders {
  const reader = new OrdersReader();
  const places: CsvPlaces = (pointer) => reader.place(pointer);
  // Before quotes are looked at: with other separators they stand where they may not.
  if (!reader.hasCommas(/^\uFEFF?(.*)/.exec(text)?.[1] ?? ""))
    return { orders: { format: "orders/1", lines: [] }, issues: reader.issues, places };
  const parsed = parseRows(text);
  if ("issue" in parsed) return { orders: { format: "orders/1", lines: [] }, issues: [parsed.issue], places };
  const [first, ...rest] = parsed.rows;
  if (!first) {
    const issue: Issue = {
      code: "csv-empty",
      document: "orders",
      pointer: "",
      line: 1,
      column: 1,
      message: "The file is empty.",
      fix: `Start with the header ${COLUMNS.join(",")}.`,
    };
    return { orders: { format: "orders/1", lines: [] }, issues: [issue], places };
  }
  reader.header(first.record);
  for (const { record, info } of rest) reader.row(record, first.record.length, info.lines);
  return { orders: { format: "orders/1", lines: reader.lines }, issues: reader.issues, places };
}

/** A cell that a spreadsheet would take for a formula gets an apostrophe in front. */
function guard(text: string): string {
  return /^['=+\-@\t\r]/.test(text) ? `'${text}` : text;
}

function unguard(text: string): string {
  return /^'['=+\-@\t\r]/.test(text) ? text.slice(1) : text;
}

function cell(value: string | number | undefined): string {
  if (value === undefined) return "";
  const text = typeof value === "number" ? String(value) : guard(value);
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/** Orders as CSV text, CRLF line ends, columns as above. */
export function writeOrdersCsv(orders: Orders): string {
  const rows = orders.lines.map((line) => COLUMNS.map((column) => cell(line[column])).join(","));
  return `${[COLUMNS.join(","), ...rows].join("\r\n")}\r\n`;
}
