import { putChain } from "../../solver/search/chain.js";
import { MAX_OPERATIONS, type Mode } from "../../solver/search/model.js";
import type { State } from "../../solver/search/state.js";

/** Every chain of a mode from a mix end: starts and alternatives of its operations, as far as waits allow. */
function* chains(mode: Mode, horizon: number, mixEnd: number): Generator<{ starts: number[]; alternatives: number[] }> {
  const starts: number[] = [];
  const alternatives: number[] = [];
  function* from(k: number, end: number): Generator<{ starts: number[]; alternatives: number[] }> {
    if (k === mode.operations.length) {
      if (end <= mode.finishBy) yield { starts: [...starts], alternatives: [...alternatives] };
      return;
    }
    const hold = mode.holds[k]!;
    for (let start = end + hold.least; start <= Math.min(horizon, end + hold.greatest); start++) {
      for (let a = 0; a < mode.operations[k]!.alternatives.length; a++) {
        const until = start + mode.operations[k]!.alternatives[a]!.minutes;
        if (until > horizon) continue;
        starts[k] = start;
        alternatives[k] = a;
        yield* from(k + 1, until);
      }
    }
  }
  yield* from(0, mixEnd);
}

function fits(state: State, mode: Mode, starts: readonly number[], alternatives: readonly number[]): boolean {
  return mode.operations.every((operation, k) => {
    const { row, amount, minutes } = operation.alternatives[alternatives[k]!]!;
    return row < 0 || state.fits(row, starts[k]!, starts[k]! + minutes, amount);
  });
}

function warm(mode: Mode, starts: readonly number[], mixEnd: number): boolean {
  return starts[mode.anchor]! - (mode.warmFrom < 0 ? mixEnd : starts[mode.warmFrom]!) <= mode.warmMinutes;
}

/** Puts the load in every way that there is; calls back with it placed, and lifts it again. */
export function everyPlace(
  state: State,
  load: number,
  visit: (place: { readonly anchor: string; readonly finish: number }) => void,
): void {
  const data = state.model.loads[load]!;
  const mixEnd = state.mixEnd(data.batch);
  data.modes.forEach((mode, m) => {
    for (const { starts, alternatives } of chains(mode, state.horizon, mixEnd)) {
      if (!warm(mode, starts, mixEnd) || !fits(state, mode, starts, alternatives)) continue;
      const last = mode.operations.length - 1;
      starts.forEach((start, k) => {
        state.start[load * MAX_OPERATIONS + k] = start;
        state.alternative[load * MAX_OPERATIONS + k] = alternatives[k]!;
      });
      const finish = starts[last]! + mode.operations[last]!.alternatives[alternatives[last]!]!.minutes;
      if (!putChain(state, load, m, finish, mixEnd)) {
        state.abandon(load);
        continue;
      }
      visit({ anchor: `${m} ${starts[mode.anchor]} ${alternatives[mode.anchor]}`, finish });
      state.lift(load);
    }
  });
}

/** The least cost of any plan of a small model, by trying them all (cut off where the cost so far is already too much). */
export function leastCost(state: State): number {
  const { model } = state;
  let best = state.cost;
  const order = model.batches.flatMap((batch) => [...batch.loads]);
  const dropLeft = order.map((_, i) => order.slice(i).reduce((sum, load) => sum + model.loads[load]!.dropCost, 0));
  const place = (i: number): void => {
    best = Math.min(best, state.cost);
    if (i === order.length || state.cost - dropLeft[i]! >= best) return;
    const load = order[i]!;
    const batch = model.loads[load]!.batch;
    const isFirst = model.batches[batch]!.loads[0] === load;
    if (!isFirst) {
      place(i + 1);
      everyPlace(state, load, () => place(i + 1));
      return;
    }
    const next = i + model.batches[batch]!.loads.length;
    if (next < order.length) place(next);
    model.batches[batch]!.options.forEach((option, o) => {
      for (let start = option.from; start + option.minutes <= state.horizon; start++) {
        if (!state.fits(option.row, start, start + option.minutes, 1)) continue;
        const crewRow = option.crew ? state.crewFor(option.crew, start, start + option.minutes) : -1;
        if (option.crew && crewRow < 0) continue;
        state.placeMix(batch, o, start, crewRow);
        place(i + 1);
        everyPlace(state, load, () => place(i + 1));
        state.liftMix(batch);
      }
    });
  };
  place(0);
  return best;
}
