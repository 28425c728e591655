import { stringify } from "csv-stringify/sync";
import type { Sheet, Table } from "../../solver/sheets/index.js";

/**
 * A table as RFC 4180 text (CRLF): raw values under their keys (g, C, RFC 3339), lists joined by "; ". Texts that a spreadsheet would take for a
 * formula get an apostrophe in front.
 */
export function tableCsv(table: Table): string {
  const columns = table.columns.filter(({ as }) => as !== "tick").map(({ key }) => key);
  const rows = table.rows.map((row) =>
    columns.map((key) => {
      const value = row[key] ?? "";
      return Array.isArray(value) ? value.join("; ") : typeof value === "boolean" ? String(value) : value;
    }),
  );
  return stringify(rows, {
    header: true,
    columns,
    record_delimiter: "windows",
    escape_formulas: true,
  });
}

/** File name and text for each table of a sheet. */
export function sheetCsvs(sheet: Sheet): { readonly name: string; readonly text: string }[] {
  return sheet.tables.map((table) => ({
    name: sheet.tables.length === 1 ? `${sheet.id}.csv` : `${sheet.id}--${table.id}.csv`,
    text: tableCsv(table),
  }));
}
