import type { DocumentName } from "../../schemas/index.js";

/** What the store knows of a day besides its documents. */
export interface DayRecord {
  readonly id: string;
  /** Of each document the version that holds now; versions count from 1 and are never used again. */
  readonly versions: Readonly<Partial<Record<DocumentName, number>>>;
  /** Counts every change of the day. */
  readonly change: number;
  readonly createdAt: string;
  readonly changedAt: string;
  /** Deleted days keep their counts, so that a new day of the same id does not repeat them. */
  readonly deleted?: boolean;
  /** Of a day made under the id of a deleted one: the change with which it was made. What stations marked belongs to one life of an id. */
  readonly life?: number;
}

/** One entry of a document's history. */
export interface VersionRecord {
  readonly version: number;
  readonly at: string;
  readonly by: string;
  readonly note?: string;
  /** Restored from this version. */
  readonly from?: number;
  readonly bytes: number;
}

export const DOCUMENTS: readonly DocumentName[] = [
  "network",
  "catalogue",
  "orders",
  "happenings",
  "settings",
  "timetable",
];

/** Documents that may be missing. */
export const OPTIONAL: readonly DocumentName[] = ["timetable"];

function padded(version: number): string {
  return String(version).padStart(9, "0");
}

export const dayKeys = {
  day: (id: string) => `day/${id}`,
  days: "day/",
  document: (id: string, document: DocumentName, version: number) => `doc/${id}/${document}/${padded(version)}`,
  history: (id: string, document: DocumentName, version: number) => `hist/${id}/${document}/${padded(version)}`,
  historyOf: (id: string, document: DocumentName) => `hist/${id}/${document}/`,
} as const;
