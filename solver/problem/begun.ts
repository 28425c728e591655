import type { Load, Task } from "../../schemas/index.js";
import type { Mode } from "../search/model.js";

/** A use of a row of the search. */
export interface RowUse {
  readonly row: number;
  readonly from: number;
  readonly to: number;
  readonly amount: number;
  /** Of a bake: what its deck was set to, whatever its route says now. */
  readonly tempC?: number | undefined;
}

/** A task that has begun: as it really was, in minutes of the window. */
export interface BegunTask {
  /** As in the timetable in force. */
  readonly task: Task;
  readonly start: number;
  /** Null: it stands until what follows it, which is still to be planned. */
  readonly end: number | null;
  /** When its shelf, proofer or rack fails under it, its items are carried to another one then. */
  readonly carriedAt?: number;
  /** A bake that its deck's failure cut short there: the rest is done on another deck. */
  readonly cutAt?: number;
}

/** A load of which something has begun. */
export interface BegunLoad {
  readonly load: Load;
  readonly batch: string;
  /** In order of the route. */
  readonly tasks: readonly BegunTask[];
  /** What happened that it is thrown away; null: it goes on if there is room for it. */
  readonly scrapped: { readonly minute: number; readonly why: string } | null;
}

export interface BegunBatch {
  readonly id: string;
  readonly mix: BegunTask;
  readonly loads: readonly BegunLoad[];
}

/** A heater that is on at the instant: its setpoint, and since when it has been set. */
export interface Alight {
  readonly heater: number;
  /** At the instant, or when the heater is hot for the first time. */
  readonly minute: number;
  readonly klass: number;
  readonly setAt: number;
}

/** A cleaning that has begun. */
export interface BegunClean {
  readonly task: Task;
  readonly unit: string;
  readonly start: number;
  readonly end: number;
}

/** What of the timetable in force has begun when it is repaired. */
export interface Begun {
  readonly at: number;
  readonly batches: ReadonlyMap<string, BegunBatch>;
  readonly loads: ReadonlyMap<string, BegunLoad>;
  /** By load: its modes with the rows that begun tasks were on; the search's own modes have none there. */
  readonly modes: ReadonlyMap<string, readonly Mode[]>;
  /** By load or batch: units and people that begun tasks use. */
  readonly uses: ReadonlyMap<string, readonly RowUse[]>;
  readonly alight: readonly Alight[];
  readonly cleans: readonly BegunClean[];
  /** By load: why what has begun of it cannot go on, where that is known beforehand. */
  readonly noWayOn: ReadonlyMap<string, string>;
}
