export { ISSUE_CODES, type IssueCode } from "./issue-codes.js";
export type * from "./types.js";

import type { IssueCode } from "./issue-codes.js";
import type { Catalogue, Happenings, Network, Orders, Settings, Timetable } from "./types.js";

/** One planning request: everything that a timetable is drawn up from. */
export interface DayDocuments {
  readonly network: Network;
  readonly catalogue: Catalogue;
  readonly orders: Orders;
  readonly happenings: Happenings;
  readonly settings: Settings;
  /** The timetable in force: what locks refer to. */
  readonly inForce?: Timetable;
}

/** The documents of a day, by the name of their file in a day folder (orders also as orders.csv). */
export type DocumentName = "network" | "catalogue" | "orders" | "happenings" | "settings" | "timetable" | "scenario";

/** One thing wrong with the input: what, where, why, and what would mend it. */
export interface Issue {
  readonly code: IssueCode;
  readonly document: DocumentName;
  /** RFC 6901 JSON pointer into the document; for CSV the pointer of the value in the orders document that it stands for. */
  readonly pointer: string;
  /** CSV only, both from 1. */
  readonly line?: number;
  readonly column?: number;
  readonly message: string;
  readonly fix: string;
}
