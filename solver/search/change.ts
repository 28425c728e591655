import type { Draft } from "./draft.js";
import { MAX_OPERATIONS, type SearchModel } from "./model.js";
import { emptyRecord, type LoadRecord, STRIDE, type State, TAKE } from "./state.js";

/**
 * A change of a plan in numbers, so that it can be told to another search: how many loads, then of each load [load, mode, finish, number of operations, number of takes, starts, alternatives, takes];
 * how many batches, then of each [batch, option, start, crew row]. A load that is not made has mode -1 and nothing after it. It says where they are after the change, whatever was before.
 */
export type Change = Int32Array;

const BATCH = 4;
/** Numbers of a load that is made before its starts. */
const HEAD = 5;

/** Numbers that the longest change can have: the whole plan. */
export function longestChange({ loads, batches }: SearchModel): number {
  return 2 + loads.length * (HEAD + 2 * MAX_OPERATIONS + STRIDE) + batches.length * BATCH;
}

function writeLoad(state: State, load: number, into: Change, from: number): number {
  const { model, mode, finish, takeCount, takes, start, alternative } = state;
  let at = from;
  into[at++] = load;
  into[at++] = mode[load]!;
  if (mode[load]! < 0) return at;
  const operations = model.loads[load]!.modes[mode[load]!]!.operations.length;
  into[at++] = finish[load]!;
  into[at++] = operations;
  into[at++] = takeCount[load]!;
  const first = load * MAX_OPERATIONS;
  for (let k = first; k < first + operations; k++) into[at++] = start[k]!;
  for (let k = first; k < first + operations; k++) into[at++] = alternative[k]!;
  const until = load * STRIDE + takeCount[load]! * TAKE;
  for (let i = load * STRIDE; i < until; i++) into[at++] = takes[i]!;
  return at;
}

function writeBatch({ mixOption, mixStart, mixCrew }: State, batch: number, into: Change, from: number): number {
  let at = from;
  into[at++] = batch;
  into[at++] = mixOption[batch]!;
  into[at++] = mixStart[batch]!;
  into[at++] = mixCrew[batch]!;
  return at;
}

/** Is a load where its record says? */
function isAt(state: State, load: number, record: LoadRecord): boolean {
  if (state.mode[load] !== record.mode) return false;
  if (record.mode < 0) return true;
  if (state.finish[load] !== record.finish || state.takeCount[load] !== record.takeCount) return false;
  const operations = state.model.loads[load]!.modes[record.mode]!.operations.length;
  for (let k = 0; k < operations; k++) {
    const at = load * MAX_OPERATIONS + k;
    if (state.start[at] !== record.start[k] || state.alternative[at] !== record.alternative[k]) return false;
  }
  for (let i = 0; i < record.takeCount * TAKE; i++)
    if (state.takes[load * STRIDE + i] !== record.takes[i]) return false;
  return true;
}

/** Writes what the draft has changed since it was last accepted; the number of numbers, 0 when everything is where it was. */
export function writeChange(draft: Draft, into: Change): number {
  const { state } = draft;
  let at = 1;
  let loads = 0;
  for (let i = 0; i < draft.touchedLoads.length; i++) {
    const load = draft.touchedLoads[i]!;
    if (isAt(state, load, draft.loadBefore(i))) continue;
    at = writeLoad(state, load, into, at);
    loads++;
  }
  into[0] = loads;
  const counted = at++;
  let batches = 0;
  for (let i = 0; i < draft.touchedBatches.length; i++) {
    const batch = draft.touchedBatches[i]!;
    const { option, start, crewRow } = draft.mixBefore(i);
    if (state.mixOption[batch] === option && state.mixStart[batch] === start && state.mixCrew[batch] === crewRow)
      continue;
    at = writeBatch(state, batch, into, at);
    batches++;
  }
  into[counted] = batches;
  return loads + batches === 0 ? 0 : at;
}

/** Writes where everything is; the number of numbers. */
export function writePlan(state: State, into: Change): number {
  const { loads, batches } = state.model;
  let at = 0;
  into[at++] = loads.length;
  for (let load = 0; load < loads.length; load++) at = writeLoad(state, load, into, at);
  into[at++] = batches.length;
  for (let batch = 0; batch < batches.length; batch++) at = writeBatch(state, batch, into, at);
  return at;
}

const read: LoadRecord = { ...emptyRecord(), takes: new Int32Array(STRIDE) };

/** Reads the load at a place into `read`; where the next one begins. */
function readLoad(change: Change, from: number): number {
  let at = from + 1;
  read.mode = change[at++]!;
  if (read.mode < 0) return at;
  read.finish = change[at++]!;
  const operations = change[at++]!;
  read.takeCount = change[at++]!;
  for (let k = 0; k < operations; k++) read.start[k] = change[at++]!;
  for (let k = 0; k < operations; k++) read.alternative[k] = change[at++]!;
  for (let i = 0; i < read.takeCount * TAKE; i++) read.takes[i] = change[at++]!;
  return at;
}

/** Where the load after the one at a place begins. */
function afterLoad(change: Change, at: number): number {
  return change[at + 1]! < 0 ? at + 2 : at + HEAD + 2 * change[at + 3]! + change[at + 4]! * TAKE;
}

/** Makes a change that is known to fit: one that another search has made to the same plan. */
export function makeChange(state: State, change: Change): void {
  let at = 1;
  for (let i = change[0]!; i > 0; i--) {
    const load = change[at]!;
    at = readLoad(change, at);
    if (state.mode[load]! < 0) {
      if (read.mode >= 0) state.restore(load, read);
    } else if (read.mode < 0) state.lift(load);
    else state.revert(load, read);
  }
  for (let i = change[at++]!; i > 0; i--, at += BATCH) {
    const batch = change[at]!;
    if (state.mixOption[batch]! >= 0) state.liftMix(batch);
    if (change[at + 1]! >= 0) state.placeMix(batch, change[at + 1]!, change[at + 2]!, change[at + 3]!);
  }
}

/** Makes a change to another plan than the one that it was found for; false when it does not fit there, and the draft is then to be rejected. */
export function tryChange(draft: Draft, change: Change): boolean {
  const { state } = draft;
  let at = 1;
  for (let i = change[0]!; i > 0; i--) {
    const load = change[at]!;
    draft.touchLoad(load);
    if (state.mode[load]! >= 0) state.lift(load);
    at = afterLoad(change, at);
  }
  const batchesAt = at + 1;
  const batches = change[at]!;
  for (let i = 0; i < batches; i++) {
    const batch = change[batchesAt + i * BATCH]!;
    draft.touchBatch(batch);
    if (state.mixOption[batch]! >= 0) state.liftMix(batch);
  }
  for (let i = 0; i < batches; i++) if (!tryMix(state, change, batchesAt + i * BATCH)) return false;
  at = 1;
  for (let i = change[0]!; i > 0; i--) {
    const load = change[at]!;
    at = readLoad(change, at);
    if (read.mode >= 0 && !tryLoad(state, load)) return false;
  }
  return hasNoIdleMix(draft);
}

/** Is every mix of a batch that was touched mixed for some load? What two changes leave to each other's loads neither would need. */
function hasNoIdleMix({ model, state, touchedLoads, touchedBatches }: Draft): boolean {
  const isIdle = (batch: number): boolean =>
    !model.batches[batch]!.pinned && state.mixOption[batch]! >= 0 && state.placedOfBatch[batch] === 0;
  return !touchedBatches.some(isIdle) && !touchedLoads.some((load) => isIdle(model.loads[load]!.batch));
}

function tryMix(state: State, change: Change, at: number): boolean {
  const batch = change[at]!;
  const option = change[at + 1]!;
  const start = change[at + 2]!;
  const crewRow = change[at + 3]!;
  if (option < 0) return true;
  const { row, minutes, crew } = state.model.batches[batch]!.options[option]!;
  if (!state.fits(row, start, start + minutes, 1)) return false;
  if (crewRow >= 0 && !state.fits(crewRow, start, start + minutes, crew!.heads)) return false;
  state.placeMix(batch, option, start, crewRow);
  return true;
}

/** Puts the load that was read last, if there is room for all of it. */
function tryLoad(state: State, load: number): boolean {
  for (let i = 0; i < read.takeCount; i++) {
    const row = read.takes[i * TAKE]!;
    const from = read.takes[i * TAKE + 1]!;
    const to = read.takes[i * TAKE + 2]!;
    const amount = read.takes[i * TAKE + 3]!;
    if (!state.fits(row, from, to, amount)) {
      state.abandon(load);
      return false;
    }
    state.take(load, row, from, to, amount);
  }
  for (let k = 0; k < MAX_OPERATIONS; k++) {
    state.start[load * MAX_OPERATIONS + k] = read.start[k]!;
    state.alternative[load * MAX_OPERATIONS + k] = read.alternative[k]!;
  }
  state.settle(load, read.mode, read.finish);
  return true;
}

/** The loads and batches of one change, to see whether another can be made independently of it. */
export class Footprint {
  private readonly loads: Uint8Array;
  /** 1: a load of it moves; 2: its mix moves. */
  private readonly batches: Uint8Array;
  private readonly batchOf: Int32Array;

  constructor({ loads, batches }: SearchModel) {
    this.loads = new Uint8Array(loads.length);
    this.batches = new Uint8Array(batches.length);
    this.batchOf = Int32Array.from(loads, ({ batch }) => batch);
  }

  /** Stands for this change from now on. */
  set(change: Change): void {
    this.loads.fill(0);
    this.batches.fill(0);
    let at = 1;
    for (let i = change[0]!; i > 0; i--) {
      const load = change[at]!;
      this.loads[load] = 1;
      this.batches[this.batchOf[load]!]! |= 1;
      at = afterLoad(change, at);
    }
    for (let i = change[at++]!; i > 0; i--, at += BATCH) this.batches[change[at]!]! |= 2;
  }

  /** Do both move the same load, or one the mix of a load that the other moves? */
  meets(other: Change): boolean {
    let at = 1;
    for (let i = other[0]!; i > 0; i--) {
      const load = other[at]!;
      if (this.loads[load] === 1 || (this.batches[this.batchOf[load]!]! & 2) > 0) return true;
      at = afterLoad(other, at);
    }
    for (let i = other[at++]!; i > 0; i--, at += BATCH) if (this.batches[other[at]!]! > 0) return true;
    return false;
  }
}
