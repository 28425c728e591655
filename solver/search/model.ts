/**
 * What the search works on: capacities on a minute grid and chains of operations that take from them. It knows nothing
 * of dough; solver/problem builds it from a day, test/bench builds it from other formats.
 *
 * Units: minutes from the start of the window; costs are integers (thousandths of the currency).
 */

/** No cost table entry is greater; an entry equal to it is forbidden. */
export const FORBIDDEN = 2 ** 30;
/** Subtracted from a row that another row's work excludes. Larger than any capacity of a row with conflicts. */
export const BLOCK = 100_000;

/** Something that is on from its first load (less the lead) to its last, and pays for every minute of it. */
export interface Heater {
  readonly leadMinutes: number;
  readonly costPerMinute: number;
  /** Of each change of class between loads that follow each other. */
  readonly changeCost: number;
  /** Stretches without an outage, from..to pairs in time order; each has its own on-time and lead. */
  readonly stretches: Int32Array;
  /** The lead before the first load of a stretch must not overlap these, from..to pairs. */
  readonly noLead: Int32Array;
}

/** One way to do an operation: on this row, for so long. */
export interface Alternative {
  /** -1: no unit. */
  readonly row: number;
  readonly amount: number;
  readonly minutes: number;
}

/** People, as any one of several rows. */
export interface CrewNeed {
  readonly rows: Int32Array;
  readonly heads: number;
  /** From the start of the operation; 0: for all of it. */
  readonly minutes: number;
}

export interface Operation {
  readonly alternatives: readonly Alternative[];
  readonly crew: CrewNeed | null;
  /** Start no earlier, no later. */
  readonly from: number;
  readonly to: number;
}

/** A ride inside a hold: it leaves its first place at `leave` and takes its second at `arrive`. */
export interface Ride {
  readonly leave: number;
  readonly arrive: number;
  /** Rows after the ride. */
  readonly rows: Int32Array;
}

/** Between the end of one operation and the start of the next. */
export interface Hold {
  readonly least: number;
  readonly greatest: number;
  /** Any one of these has room for `amount` throughout; empty: needs no room. */
  readonly rows: Int32Array;
  readonly amount: number;
  /** Per row of `rows`: the row that takes up the heat (-1: none) for heatMinutes from the hold's start. */
  readonly heatRows: Int32Array;
  readonly heatAmount: number;
  readonly heatMinutes: number;
  readonly ride: Ride | null;
}

/** A stock that is taken from the start of one operation to the start of another. What is taken from the end of mixing is given back by the anchor, or never. */
export interface Span {
  readonly row: number;
  readonly amount: number;
  /** Operation at whose start it begins; -1: the end of mixing. */
  readonly fromOperation: number;
  /** Operation at whose start it ends; -1: the end of the horizon. */
  readonly toOperation: number;
}

/** One way to make a load: where, by which route, over which van. */
export interface Mode {
  /** Mixing options of the batch with this site serve it. */
  readonly site: number;
  /** holds[k] lies before operations[k]; holds[0] begins when the mix ends. */
  readonly holds: readonly Hold[];
  readonly operations: readonly Operation[];
  /** The operation that is on a heater. */
  readonly anchor: number;
  readonly spans: readonly Span[];
  /** Start of the anchor at most warmMinutes after the start of operation warmFrom (-1: the end of mixing). */
  readonly warmFrom: number;
  readonly warmMinutes: number;
  /** The trip that it rides (-1: none), and the positions it takes there. */
  readonly trip: number;
  readonly tripAmount: number;
  /** The chain's last operation ends no later. */
  readonly finishBy: number;
  /** When a ride after the chain delivers it; -1: as soon as the chain ends. */
  readonly deliveredAt: number;
}

/** Where a load is in the plan in force: every place else costs extra. */
export interface LoadHome {
  readonly mode: number;
  readonly starts: Int32Array;
  readonly alternatives: Int8Array;
  readonly finish: number;
  /** The row that its anchor is on. */
  readonly row: number;
  /** Extra cost by start of the anchor, 0 at home. Length horizon + 1. */
  readonly moveCost: Int32Array;
  /** Extra when the anchor is on another row, and in another mode. */
  readonly otherRowCost: number;
  readonly otherModeCost: number;
}

/** Where a batch is mixed in the plan in force. */
export interface MixHome {
  readonly option: number;
  readonly start: number;
  /** Extra cost by start of the mix, 0 at home. Length horizon + 1. */
  readonly moveCost: Int32Array;
  readonly otherOptionCost: number;
}

/** Something that was on a heater whatever the search does. */
export interface Firing {
  readonly heater: number;
  readonly start: number;
  readonly end: number;
  readonly klass: number;
}

export interface Load {
  readonly batch: number;
  readonly dropCost: number;
  /** Put once, first of all, and never moved: something of it is locked. */
  readonly pinned: boolean;
  /** By minute of delivery, non-decreasing. Length horizon + 1. */
  readonly lateCost: Int32Array;
  /** By minute at which the chain ends, non-increasing. Length horizon + 1. */
  readonly earlyCost: Int32Array;
  readonly modes: readonly Mode[];
  readonly home?: LoadHome;
}

export interface MixOption {
  readonly site: number;
  readonly row: number;
  readonly minutes: number;
  readonly crew: CrewNeed | null;
  readonly from: number;
  readonly to: number;
}

export interface Batch {
  readonly options: readonly MixOption[];
  readonly loads: Int32Array;
  readonly pinned: boolean;
  readonly home?: MixHome;
}

export interface Trip {
  readonly row: number;
  readonly cost: number;
}

/** Heads beyond the regular ones on a crew row. */
export interface Overtime {
  /** By minute: how many of the row's heads are overtime. */
  readonly heads: Int32Array;
  readonly costPerMinute: number;
}

export interface SearchModel {
  readonly horizon: number;
  readonly rowCount: number;
  /** Capacity by row and minute: [row * horizon + minute]. */
  readonly capacity: Int32Array;
  /** Per row: other row, minutes before, minutes after, repeated: work on the row excludes the others so widened. */
  readonly conflicts: readonly Int32Array[];
  /** Per row: spans in which the minutes between it and its rivals cannot pass (nobody cleans a unit that is out), from..to pairs in order of time; empty for nearly all. */
  readonly standstills: readonly Int32Array[];
  /** Per row: its heater, or -1, and the class (setpoint) that it stands for. */
  readonly heaterOfRow: Int32Array;
  readonly classOfRow: Int32Array;
  readonly overtimeOfRow: readonly (Overtime | null)[];
  readonly heaters: readonly Heater[];
  readonly firings?: readonly Firing[];
  readonly trips: readonly Trip[];
  readonly batches: readonly Batch[];
  readonly loads: readonly Load[];
}

/** The greatest number of operations in a chain, and of takes that a load can have. */
export const MAX_OPERATIONS = 10;
export const MAX_TAKES = 40;
