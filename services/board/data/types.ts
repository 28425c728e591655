import type { Changes, DayDocuments, DocumentName, Timetable } from "../../../schemas/index.js";

/** A day as the server keeps it: which version of each document holds now. */
export interface DayRecord {
  readonly id: string;
  readonly versions: Readonly<Partial<Record<DocumentName, number>>>;
  readonly change: number;
  readonly changedAt: string;
  readonly deleted?: boolean;
  readonly life?: number;
}

export interface OpenDay {
  readonly id: string;
  readonly record: DayRecord;
  readonly documents: DayDocuments;
  readonly timetable: Timetable | undefined;
}

export interface Proposal {
  /** Which documents it changes besides the timetable. */
  readonly withHappenings: boolean;
  /** Of the day that it was worked out from. */
  readonly from: DayRecord["versions"];
  readonly documents: DayDocuments;
  readonly timetable: Timetable;
  /** Tasks whose pin cannot be kept as the documents are now. */
  readonly letGo?: readonly string[];
  /** What the server says of it: why orders are late or short, and what would help them. */
  readonly told?: Changes;
  /** A quite different repair, when there is one, and what it is better at. */
  readonly second?: OtherRepair;
}

/** A repair that trades otherwise than the one shown. */
export interface OtherRepair {
  readonly for: "fewer-moves" | "less-late";
  readonly timetable: Timetable;
  readonly changes?: Changes;
}

/** News of a running search. */
export interface DrawNews {
  readonly phase: string;
  readonly elapsedMs: number;
  readonly iterations: number;
  readonly cost?: number;
  readonly bound?: number;
  readonly lateOrders?: number;
  readonly shortPieces?: number;
}

/** One thing wrong with what was sent: where, and what would mend it. */
export interface Fault {
  readonly detail: string;
  readonly pointer?: string;
  readonly document?: string;
  /** The file that the person chose, where one was. */
  readonly file?: string;
  readonly line?: number;
  readonly column?: number;
  readonly fix?: string;
}

/** What went wrong, in words for the person at the screen. */
export class BoardError extends Error {
  readonly fix: string;
  readonly status: number;
  readonly faults: readonly Fault[];

  constructor(message: string, fix = "", status = 0, faults: readonly Fault[] = []) {
    super(message);
    this.name = "BoardError";
    this.fix = fix;
    this.status = status;
    this.faults = faults;
  }

  /** The server has no such thing (yet). */
  get isMissing(): boolean {
    return this.status === 404 || this.status === 405 || this.status === 501;
  }
}
