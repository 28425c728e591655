import type { Alternative, CrewNeed, Hold, Mode, Operation, Ride } from "./model.js";

/**
 * Copies of parts of a mode with something other than before, all written in one order: then the compiler sees one kind of object of each, which copies by `...` of
 * copies are not.
 */

export function modeWith(
  { site, anchor, spans, warmFrom, trip, tripAmount, finishBy, deliveredAt }: Mode,
  holds: readonly Hold[],
  operations: readonly Operation[],
  warmMinutes: number,
): Mode {
  return {
    site,
    holds,
    operations,
    anchor,
    spans,
    warmFrom,
    warmMinutes,
    trip,
    tripAmount,
    finishBy,
    deliveredAt,
  };
}

/** In other rows. */
export function holdIn(
  { least, greatest, amount, heatAmount, heatMinutes }: Hold,
  rows: Int32Array,
  heatRows: Int32Array,
  ride: Ride | null,
): Hold {
  return { least, greatest, rows, amount, heatRows, heatAmount, heatMinutes, ride };
}

/** Of another length. */
export function holdOf(
  { rows, amount, heatRows, heatAmount, heatMinutes, ride }: Hold,
  least: number,
  greatest: number,
): Hold {
  return { least, greatest, rows, amount, heatRows, heatAmount, heatMinutes, ride };
}

export function operationWith(
  alternatives: readonly Alternative[],
  crew: CrewNeed | null,
  from: number,
  to: number,
): Operation {
  return { alternatives, crew, from, to };
}
