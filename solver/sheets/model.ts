import type { Caution } from "../trade/cautions.js";

/** A sheet as data: what stands on it and how it is meant to be read. Rendering (units, type, paper) is left to others. */

export type SheetKind =
  | "mixer"
  | "mix"
  | "pull"
  | "purchase"
  | "shelf-map"
  | "labels"
  | "bench"
  | "proof"
  | "kettle"
  | "oven"
  | "rack"
  | "van"
  | "crew"
  | "orders"
  | "log"
  | "cost";

export const SHEET_KINDS: readonly SheetKind[] = [
  "orders",
  "purchase",
  "pull",
  "mixer",
  "mix",
  "shelf-map",
  "labels",
  "log",
  "bench",
  "proof",
  "kettle",
  "oven",
  "rack",
  "van",
  "crew",
  "cost",
];

/** Masses in g, temperatures in C, lengths in mm, instants as RFC 3339, money in the settings' currency. */
export type Cell = string | number | boolean | null | readonly string[];

/**
 * How a cell is read: mass (g), temp (C), difference (C), volume (litres), clock (an instant as the site's HH:MM), span (two instants), seconds-clock (with seconds),
 * minutes, count, money, percent, text, strong (text that is looked for first), list (one line each), tick (a box to tick), blank (room to write).
 */
export type CellKind =
  | "mass"
  | "temp"
  | "difference"
  | "volume"
  | "clock"
  | "span"
  | "seconds-clock"
  | "minutes"
  | "count"
  | "money"
  | "percent"
  | "text"
  | "strong"
  | "list"
  | "tick"
  | "blank";

export interface Column {
  readonly key: string;
  readonly title: string;
  readonly as: CellKind;
}

export type Row = Readonly<Record<string, Cell>>;

export interface Table {
  readonly id: string;
  readonly title?: string;
  readonly columns: readonly Column[];
  readonly rows: readonly Row[];
  /** Cards are cut out: a label each. */
  readonly shape?: "table" | "cards";
}

/** One figure at the head of a sheet, read from two metres away. */
export interface Fact {
  readonly label: string;
  readonly value: Cell;
  readonly as: CellKind;
  /** Where the figure is from, when there is more than one way. */
  readonly note?: string;
}

/** Places on a deck or shelf, to scale; the front edge is at the bottom. */
export interface Drawing {
  readonly title: string;
  readonly widthMm: number;
  readonly depthMm: number;
  readonly places: readonly {
    readonly label: string;
    readonly xMm: number;
    readonly yMm: number;
    readonly widthMm: number;
    readonly depthMm: number;
  }[];
}

export interface Sheet {
  /** Unique among a timetable's sheets; fit for a file name. */
  readonly id: string;
  readonly kind: SheetKind;
  readonly title: string;
  /** What it is about, under the title: the unit, batch or crew. */
  readonly subtitle: string;
  readonly site: string;
  readonly siteName: string;
  readonly timeZone: string;
  /** Earliest instant on the sheet: they are used in this order. */
  readonly from: string;
  readonly facts: readonly Fact[];
  readonly tables: readonly Table[];
  readonly drawings: readonly Drawing[];
  /** Names with details, as declared in the catalogue. Empty: none declared for what is on the sheet; null: no food on it. */
  readonly allergens: readonly string[] | null;
  readonly cautions: readonly Caution[];
  readonly notes: readonly string[];
}
