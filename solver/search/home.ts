import { putChain } from "./chain.js";
import type { Draft } from "./draft.js";
import { FORBIDDEN, MAX_OPERATIONS } from "./model.js";

/**
 * Puts a waiting load where the plan in force has it, chain and all; false (and nothing changed) when its mix is elsewhere or some row is taken.
 */
export function goHome(draft: Draft, load: number): boolean {
  const { state, model } = draft;
  const { home, modes, batch, earlyCost } = model.loads[load]!;
  if (!home || !isMixHome(draft, batch)) return false;
  const mode = modes[home.mode]!;
  const at = load * MAX_OPERATIONS;
  if (mode.trip >= 0 && state.free[model.trips[mode.trip]!.row * state.horizon]! < mode.tripAmount) return false;
  for (let k = 0; k < mode.operations.length; k++) {
    const { alternatives, from, to } = mode.operations[k]!;
    const start = home.starts[k]!;
    const { row, minutes, amount } = alternatives[home.alternatives[k]!]!;
    if (start < from || start > to || (row >= 0 && !state.fits(row, start, start + minutes, amount))) return false;
  }
  if (home.finish > mode.finishBy || earlyCost[home.finish]! >= FORBIDDEN) return false;
  draft.touchLoad(load);
  for (let k = 0; k < mode.operations.length; k++) {
    state.start[at + k] = home.starts[k]!;
    state.alternative[at + k] = home.alternatives[k]!;
  }
  if (putChain(state, load, home.mode, home.finish, state.mixEnd(batch))) return true;
  state.abandon(load);
  return false;
}

function isMixHome({ state, model }: Draft, batch: number): boolean {
  const { home } = model.batches[batch]!;
  return home !== undefined && state.mixOption[batch] === home.option && state.mixStart[batch] === home.start;
}

/** Mixes a batch where the plan in force does; false when mixer or crew are taken. */
export function mixAtHome(draft: Draft, batch: number): boolean {
  const { state, model, mixes } = draft;
  const { home, options } = model.batches[batch]!;
  if (!home) return false;
  const { row, minutes, crew, from, to } = options[home.option]!;
  const { start } = home;
  if (start < from || start > to || !state.fits(row, start, start + minutes, 1)) return false;
  if (crew && state.crewFor(crew, start, start + minutes) < 0) return false;
  mixes.choose(batch, home.option, start);
  draft.mix(batch);
  return true;
}

/** Mixes a batch whose mix may be at one minute only; false when it may be at more, or mixer or crew are taken. */
function mixAtOnlyMinute(draft: Draft, batch: number): boolean {
  const { state, model, mixes } = draft;
  const { options } = model.batches[batch]!;
  for (let o = 0; o < options.length; o++) {
    const { from, to } = options[o]!;
    if (from !== to || mixes.freeOn(batch, o).atOrAfter(from) !== from) continue;
    mixes.choose(batch, o, from);
    draft.mix(batch);
    return state.mixOption[batch]! >= 0;
  }
  return false;
}

/** Does the chain just found differ from home only in what leads to and from the anchor? Then home is taken if it is free. */
export function wasFoundAtHome(draft: Draft, load: number): boolean {
  const { home, modes } = draft.model.loads[load]!;
  const { inserter } = draft;
  if (!home || inserter.foundMode !== home.mode) return false;
  const { anchor } = modes[home.mode]!;
  return inserter.anchorStart(anchor) === home.starts[anchor];
}

/** Mixes batches where the plan in force does, as far as that is free; what has begun first, then what can be at one minute only. */
export function settleMixes(draft: Draft): void {
  const { model, state } = draft;
  const times = new Int32Array(model.batches.length);
  const batches: number[] = [];
  for (let batch = 0; batch < times.length; batch++) {
    times[batch] = mixTime(draft, batch);
    batches.push(batch);
  }
  const order = byTime(batches, times);
  for (const batch of order) if (model.batches[batch]!.pinned && state.mixOption[batch]! < 0) mixAtHome(draft, batch);
  for (const batch of order) if (state.mixOption[batch]! < 0) mixAtOnlyMinute(draft, batch);
  for (const batch of order) if (state.mixOption[batch]! < 0) mixAtHome(draft, batch);
}

/** Puts loads home, in order of their time. What does not fit is left waiting, in the order given back. */
export function settleLoads(draft: Draft, loads: readonly number[]): number[] {
  const times = new Int32Array(draft.model.loads.length);
  for (const load of loads) times[load] = anchorTime(draft, load);
  const waiting: number[] = [];
  for (const load of byTime(loads, times)) if (!goHome(draft, load)) waiting.push(load);
  return waiting;
}

function mixTime({ model }: Draft, batch: number): number {
  const { home, pinned } = model.batches[batch]!;
  return (pinned ? -(1 << 20) : 0) + (home?.start ?? 1 << 20);
}

function anchorTime({ model }: Draft, load: number): number {
  const { home, modes } = model.loads[load]!;
  return home ? home.starts[modes[home.mode]!.anchor]! : 1 << 20;
}

/** More than there are loads or batches. */
const NUMBERS = 1 << 25;

/** Numbers of loads or batches in order of their times, those of one time by number. */
function byTime(numbers: readonly number[], times: Int32Array): number[] {
  const keys = new Float64Array(numbers.length);
  for (let i = 0; i < keys.length; i++) keys[i] = times[numbers[i]!]! * NUMBERS + numbers[i]!;
  const order: number[] = [];
  for (const key of keys.sort()) order.push(key - Math.floor(key / NUMBERS) * NUMBERS);
  return order;
}
