import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { type Sheet, sheetsOf } from "../../solver/sheets/index.js";
import { sheetCsvs } from "./csv.js";
import { layOut, pagesHtml } from "./html.js";
import type { Paper } from "./layout.js";

export interface SheetsWanted {
  readonly sites?: readonly string[];
  readonly kinds?: readonly string[];
}

/** The sheets of a timetable, of some sites and kinds or of all. */
export function chosenSheets(day: DayDocuments, timetable: Timetable, wanted: SheetsWanted = {}): Sheet[] {
  const { sites = [], kinds = [] } = wanted;
  return sheetsOf(day, timetable).filter(
    (sheet) => (sites.length === 0 || sites.includes(sheet.site)) && (kinds.length === 0 || kinds.includes(sheet.kind)),
  );
}

/** The sheets as one JSON document. */
export function sheetsJson(sheets: readonly Sheet[]): string {
  return `${JSON.stringify({ format: "sheets/1", sheets }, null, 2)}\n`;
}

/**
 * Every file of a set of sheets, by path: all.html and one HTML a site to print in one go, each sheet as HTML and its tables as CSV under its
 * site, and sheets.json.
 */
export function sheetFiles(
  day: DayDocuments,
  timetable: Timetable,
  sheets: readonly Sheet[],
  paper: Paper = day.settings.paper ?? "a4",
): Map<string, string> {
  const pages = layOut(day, timetable, sheets, paper);
  const html = (wanted: (sheet: Sheet) => boolean): string =>
    pagesHtml(
      day,
      timetable,
      pages.filter((page) => wanted(page.sheet)),
      paper,
    );
  const files = new Map<string, string>();
  files.set(
    "all.html",
    html(() => true),
  );
  for (const site of new Set(sheets.map((sheet) => sheet.site)))
    files.set(
      `${site}.html`,
      html((sheet) => sheet.site === site),
    );
  for (const sheet of sheets) {
    files.set(
      `${sheet.site}/${sheet.id}.html`,
      html(({ id }) => id === sheet.id),
    );
    for (const { name, text } of sheetCsvs(sheet)) files.set(`${sheet.site}/${name}`, text);
  }
  files.set("sheets.json", sheetsJson(sheets));
  return files;
}
