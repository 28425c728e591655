import { type Hold, MAX_OPERATIONS } from "./model.js";
import type { State } from "./state.js";

/**
 * Makes all takes of a chain whose starts and alternatives stand in the state, and settles the load. Returns false
 * (having made some takes; `lift` after settling is not needed, `abandon` is) when a hold or stock has no room. Where an
 * insertion has just found the chain, holds with one row are `known` to have it.
 */
export function putChain(
  state: State,
  load: number,
  modeIndex: number,
  finish: number,
  mixEnd: number,
  known = false,
): boolean {
  const mode = state.model.loads[load]!.modes[modeIndex]!;
  const at = load * MAX_OPERATIONS;
  state.takeCount[load] = 0;
  let end = mixEnd;
  for (let k = 0; k < mode.operations.length; k++) {
    const operation = mode.operations[k]!;
    const start = state.start[at + k]!;
    const alternative = operation.alternatives[state.alternative[at + k]!]!;
    const hold = mode.holds[k]!;
    if (start - end < hold.least || start - end > hold.greatest || !takeHold(state, load, hold, end, start, known))
      return false;
    end = start + alternative.minutes;
    if (alternative.row >= 0) state.take(load, alternative.row, start, end, alternative.amount);
    if (operation.crew) {
      const until = operation.crew.minutes > 0 ? start + operation.crew.minutes : end;
      const row = state.crewFor(operation.crew, start, until);
      if (row < 0) return false;
      state.take(load, row, start, until, operation.crew.heads);
    }
  }
  for (const span of mode.spans) {
    const from = span.fromOperation < 0 ? mixEnd : state.start[at + span.fromOperation]!;
    const to = span.toOperation < 0 ? state.horizon : state.start[at + span.toOperation]!;
    if (!state.fits(span.row, from, to, span.amount)) return false;
    state.take(load, span.row, from, to, span.amount);
  }
  const warmSince = mode.warmFrom < 0 ? mixEnd : state.start[at + mode.warmFrom]!;
  if (state.start[at + mode.anchor]! - warmSince > mode.warmMinutes) return false;
  if (mode.trip >= 0) state.take(load, state.model.trips[mode.trip]!.row, 0, 1, mode.tripAmount);
  state.settle(load, modeIndex, finish);
  return true;
}

/** Takes room for a hold in the first row that has it throughout; false when none has. */
function takeHold(state: State, load: number, hold: Hold, from: number, to: number, known: boolean): boolean {
  const { ride, amount, rows, heatRows } = hold;
  if (known && ride === null && rows.length === 1 && heatRows.length === 0) {
    state.take(load, rows[0]!, from, to, amount);
    return true;
  }
  if (ride !== null && (from > ride.leave || to < ride.arrive)) return false;
  const until = ride === null ? to : ride.leave;
  const heatUntil = Math.min(until, from + hold.heatMinutes, state.horizon);
  let done = rows.length === 0;
  for (let i = 0; i < rows.length && !done; i++) {
    if (!state.fits(rows[i]!, from, until, amount)) continue;
    const heatRow = heatRows.length > 0 ? heatRows[i]! : -1;
    if (heatRow >= 0 && !state.fits(heatRow, from, heatUntil, hold.heatAmount)) continue;
    state.take(load, rows[i]!, from, until, amount);
    if (heatRow >= 0) state.take(load, heatRow, from, heatUntil, hold.heatAmount);
    done = true;
  }
  if (!done || ride === null) return done;
  for (const row of ride.rows) {
    if (!state.fits(row, ride.arrive, to, amount)) continue;
    state.take(load, row, ride.arrive, to, amount);
    return true;
  }
  return ride.rows.length === 0;
}
