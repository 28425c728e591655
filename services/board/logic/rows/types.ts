import type { Span } from "../clock.js";
import type { Level } from "../levels.js";
import type { PlannedTask } from "../plan.js";

export type Station = "site" | "mixer" | "fridge" | "bench" | "proofer" | "kettle" | "oven" | "rack" | "van" | "crew";

/** What is drawn for one task (or van trip) in one row: a block over neighbouring lanes. */
export interface Bar {
  readonly task: PlannedTask | undefined;
  /** For trips: what it says, as there is no single task. */
  readonly text?: string;
  readonly trip?: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly lane: number;
  readonly lanes: number;
}

/** A deck's or kettle's heat: when it warms, at what it stands. */
export interface Heat {
  readonly fromMs: number;
  readonly toMs: number;
  /** Up to here it is getting there, empty. */
  readonly hotMs: number;
  /** Celsius; none for a kettle, which boils. */
  readonly tempC?: number;
}

/** How much is in use against how much there is. */
export interface Gauge {
  readonly levels: readonly Level[];
  readonly room: readonly Level[];
  /** The greatest of `room`: the height of the strip. */
  readonly most: number;
  readonly counts: string;
}

export interface Row {
  readonly id: string;
  readonly site: string;
  readonly station: Station;
  readonly name: string;
  readonly note: string;
  /** The unit that can be taken out of service. */
  readonly unit?: string;
  readonly laneCount: number;
  /** Lanes are named positions, numbered from 1. */
  readonly lanesArePositions: boolean;
  readonly bars: readonly Bar[];
  readonly heats?: readonly Heat[];
  readonly gauge?: Gauge;
  readonly out: readonly Span[];
  readonly canUnfold: boolean;
  readonly isUnfolded: boolean;
  /** Indented below the row that it belongs to. */
  readonly isPart?: boolean;
}
