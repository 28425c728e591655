import { writeOrdersCsv } from "../schemas/csv.js";
import type { DayDocuments, DocumentName, Timetable } from "../schemas/index.js";

/** The files of a day folder, and which document each holds. */
export const DAY_FILES = {
  "network.json": "network",
  "catalogue.json": "catalogue",
  "orders.csv": "orders",
  "orders.json": "orders",
  "settings.json": "settings",
  "happenings.json": "happenings",
  "timetable-in-force.json": "timetable",
} as const satisfies Readonly<Record<string, DocumentName>>;

export type DayFile = keyof typeof DAY_FILES;

/** A day has these in any case. */
export const NEEDED: readonly DocumentName[] = ["network", "catalogue", "orders", "settings"];

export function isDayFile(name: string): name is DayFile {
  return Object.hasOwn(DAY_FILES, name);
}

function jsonText(value: unknown): string {
  return `${JSON.stringify(value, null, 2)}\n`;
}

/** A day as the files of its folder, text by name; orders as CSV. */
export function filesOf(day: DayDocuments, timetable: Timetable | undefined): Map<DayFile, string> {
  return new Map<DayFile, string>([
    ["network.json", jsonText(day.network)],
    ["catalogue.json", jsonText(day.catalogue)],
    ["orders.csv", writeOrdersCsv(day.orders)],
    ["settings.json", jsonText(day.settings)],
    ["happenings.json", jsonText(day.happenings)],
    ...(timetable ? [["timetable-in-force.json", jsonText(timetable)] as const] : []),
  ]);
}
