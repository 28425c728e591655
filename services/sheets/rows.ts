import type { Cell, Table } from "../../solver/sheets/index.js";
import type { Formatter } from "./format.js";

export type LaidRow =
  | { readonly kind: "day"; readonly text: string }
  | { readonly kind: "cells"; readonly cells: readonly (readonly string[])[] };

/** A column in which no row has anything is left out. */
export function withoutEmptyColumns(table: Table): Table {
  const columns = table.columns.filter(
    ({ key, as }) => as === "tick" || as === "blank" || table.rows.some((row) => !isEmpty(row[key])),
  );
  return { ...table, columns };
}

function isEmpty(cell: Cell | undefined): boolean {
  return cell === undefined || cell === null || cell === "" || (Array.isArray(cell) && cell.length === 0);
}

/** Rows as text, with a line for each new date when they are in order of the first clock column. */
export function rowsOf(table: Table, formatter: Formatter): LaidRow[] {
  const isCards = table.shape === "cards";
  const key = isCards ? undefined : table.columns.find(({ as }) => as === "clock")?.key;
  const instantOf = (row: Table["rows"][number]): string | null => {
    const value = key === undefined ? null : row[key];
    return typeof value === "string" ? value : null;
  };
  const laid: LaidRow[] = [];
  const times = table.rows.map((row) => formatter.minute(instantOf(row) ?? ""));
  const inOrder = times.every((time, i) => i === 0 || time >= times[i - 1]!);
  if (!inOrder)
    return table.rows.map((row) => ({
      kind: "cells",
      cells: table.columns.map((column) => formatter.lines(row[column.key], column.as, "")),
    }));
  let date: string | null = null;
  for (const row of table.rows) {
    const instant = instantOf(row);
    const own: string | null = instant === null ? date : formatter.date(instant);
    if (instant !== null && own !== date) {
      laid.push({ kind: "day", text: formatter.day(instant) });
      date = own;
    }
    const under = isCards ? "" : date;
    laid.push({
      kind: "cells",
      cells: table.columns.map((column) => formatter.lines(row[column.key], column.as, under)),
    });
  }
  return laid;
}
