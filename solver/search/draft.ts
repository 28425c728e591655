import type { Rng } from "../rng.js";
import { AlikeBook } from "./alike.js";
import { overlapsAny } from "./anchor-scan.js";
import { BoundsBook } from "./bounds.js";
import { putChain } from "./chain.js";
import { heaterKinds } from "./heater-kinds.js";
import { goHome, wasFoundAtHome } from "./home.js";
import { Inserter } from "./insertion.js";
import { MixPlanner } from "./mixing.js";
import { MAX_OPERATIONS, type SearchModel } from "./model.js";
import { emptyRecord, type LoadRecord, State } from "./state.js";

/** Where a batch's mix is: option -1 when it is not mixed. */
interface MixRecord {
  option: number;
  start: number;
  crewRow: number;
}

export interface DraftOptions {
  /** Asked after every change that was kept or taken back; auditState holds the state to one built from nothing. */
  readonly audit?: (state: State) => void;
}

/**
 * A state with a memory of what was touched since it was last accepted: loads and batches can be removed and put elsewhere, and
 * the whole change kept or taken back.
 */
export class Draft {
  readonly model: SearchModel;
  readonly state: State;
  readonly bounds: BoundsBook;
  readonly inserter: Inserter;
  readonly mixes: MixPlanner;
  readonly rng: Rng;
  /** Loads waiting to be put somewhere. */
  readonly waiting: number[] = [];
  /** A change whose energy exceeds this will not be kept: no need to finish it. */
  limit = Number.POSITIVE_INFINITY;
  /** What a short load counts in the energy, as a share of its cost. */
  shortShare = 1;
  /** What has been touched since the draft was last accepted, though some of it may be where it was. */
  readonly touchedLoads: number[] = [];
  readonly touchedBatches: number[] = [];
  private readonly loadMark: Uint8Array;
  private readonly batchMark: Uint8Array;
  private readonly waitingMark: Uint8Array;
  private readonly lastMode: Int32Array;
  private readonly lastAnchor: Int32Array;
  private readonly lastFinish: Int32Array;
  private readonly records: LoadRecord[] = [];
  private readonly mixRecords: MixRecord[] = [];
  private readonly audit: DraftOptions["audit"];
  private knownAlike: AlikeBook | undefined;
  private knownKinds: Int32Array | undefined;

  constructor(model: SearchModel, rng: Rng, state = new State(model), { audit }: DraftOptions = {}) {
    this.audit = audit;
    this.model = model;
    this.rng = rng;
    this.state = state;
    this.bounds = new BoundsBook(model);
    this.inserter = new Inserter(state, this.bounds);
    this.mixes = new MixPlanner(state, this.bounds);
    this.loadMark = new Uint8Array(model.loads.length);
    this.lastMode = new Int32Array(model.loads.length).fill(-1);
    this.lastAnchor = new Int32Array(model.loads.length).fill(-1);
    this.lastFinish = new Int32Array(model.loads.length).fill(-1);
    this.waitingMark = new Uint8Array(model.loads.length);
    this.batchMark = new Uint8Array(model.batches.length);
  }

  /** Which loads could stand in for each other; a first plan does not ask. */
  get alike(): AlikeBook {
    this.knownAlike ??= new AlikeBook(this.model);
    return this.knownAlike;
  }

  /** Per heater the number of its kind; a first plan does not ask. */
  get heaterKinds(): Int32Array {
    this.knownKinds ??= heaterKinds(this.model);
    return this.knownKinds;
  }

  /** What a plan is judged by while it is accepted or not: its cost, short loads counted in part, and what steers the search. */
  get energy(): number {
    return this.state.cost - (1 - this.shortShare) * this.state.shortCost + this.state.heaters.steering;
  }

  /** Start of the load's anchor, or -1 when it is not placed. */
  anchorStart(load: number): number {
    const mode = this.state.mode[load]!;
    if (mode < 0) return -1;
    return this.state.start[load * MAX_OPERATIONS + this.model.loads[load]!.modes[mode]!.anchor]!;
  }

  /** The row that the load's anchor is on, or -1 when it is not placed. */
  anchorRow(load: number): number {
    const mode = this.state.mode[load]!;
    if (mode < 0) return -1;
    const { anchor, operations } = this.model.loads[load]!.modes[mode]!;
    return operations[anchor]!.alternatives[this.state.alternative[load * MAX_OPERATIONS + anchor]!]!.row;
  }

  /** Remembers where a load is before it is changed. */
  touchLoad(load: number): void {
    if (this.loadMark[load]) return;
    this.loadMark[load] = 1;
    const index = this.touchedLoads.push(load) - 1;
    if (index === this.records.length) this.records.push(emptyRecord());
    this.state.save(load, this.records[index]!);
    this.lastMode[load] = this.state.mode[load]!;
    this.lastAnchor[load] = this.anchorStart(load);
    this.lastFinish[load] = this.state.finish[load]!;
  }

  /** Remembers where a batch's mix is before it is changed. */
  touchBatch(batch: number): void {
    if (this.batchMark[batch]) return;
    this.batchMark[batch] = 1;
    const index = this.touchedBatches.push(batch) - 1;
    if (index === this.mixRecords.length) this.mixRecords.push({ option: -1, start: -1, crewRow: -1 });
    const record = this.mixRecords[index]!;
    record.option = this.state.mixOption[batch]!;
    record.start = this.state.mixStart[batch]!;
    record.crewRow = this.state.mixCrew[batch]!;
  }

  /** Where the i-th touched load was before this change. */
  loadBefore(i: number): LoadRecord {
    return this.records[i]!;
  }

  /** Where the mix of the i-th touched batch was before this change. */
  mixBefore(i: number): Readonly<MixRecord> {
    return this.mixRecords[i]!;
  }

  /** The mode in which the load was made before this change, -1 when it was not. */
  modeBefore(load: number): number {
    return this.lastMode[load]!;
  }

  /** When the load's chain ended before this change, -1 when it was not made. */
  finishBefore(load: number): number {
    return this.lastFinish[load]!;
  }

  /** When the load's anchor started before this change, -1 when it was not made. */
  anchorBefore(load: number): number {
    return this.lastAnchor[load]!;
  }

  /** Lifts a load (if it is placed) and has it wait. */
  removeLoad(load: number): void {
    if (this.model.loads[load]!.pinned && this.state.mode[load]! >= 0) return;
    this.touchLoad(load);
    if (this.state.mode[load]! >= 0) this.state.lift(load);
    if (!this.waitingMark[load]) {
      this.waitingMark[load] = 1;
      this.waiting.push(load);
    }
  }

  /** Lifts a load, and its mix too when it has the batch to itself and the mix may move. */
  removeWithMix(load: number): void {
    const { batch } = this.model.loads[load]!;
    const { loads, pinned } = this.model.batches[batch]!;
    if (loads.length === 1 && !pinned) this.removeBatch(batch);
    else this.removeLoad(load);
  }

  /** Lifts a batch's loads and its mix. */
  removeBatch(batch: number): void {
    if (this.model.batches[batch]!.pinned) return;
    this.touchBatch(batch);
    for (const load of this.model.batches[batch]!.loads) this.removeLoad(load);
    if (this.state.mixOption[batch]! >= 0) this.state.liftMix(batch);
  }

  /** Mixes a batch where the mix planner's last pick says. */
  mix(batch: number): void {
    this.touchBatch(batch);
    this.state.placeMix(batch, this.mixes.option, this.mixes.start, this.mixes.crewRow);
  }

  /** Puts a waiting load where it costs least, less than `below`; false when there is no such place. */
  insert(load: number, below: number, modes = -1): boolean {
    if (!this.inserter.find(load, below, modes)) return false;
    if (wasFoundAtHome(this, load) && goHome(this, load)) return true;
    this.touchLoad(load);
    this.inserter.commit(load);
    return true;
  }

  /** Mixes the batch of a waiting load and puts the load, both where together they cost least; false when nowhere. */
  insertWithMix(load: number, below: number): boolean {
    const { batch } = this.model.loads[load]!;
    const { options } = this.model.batches[batch]!;
    let best = below;
    let chosen = -1;
    for (let o = 0; o < options.length; o++) {
      const starts = this.mixes.freeOn(batch, o);
      const { site, minutes } = options[o]!;
      if (!this.inserter.findWithMix(load, best, -1, site, minutes, starts)) continue;
      best = this.inserter.cost;
      chosen = o;
      this.mixes.choose(batch, o, this.inserter.mixEnd - minutes);
    }
    if (chosen < 0) return false;
    this.touchLoad(load);
    this.mix(batch);
    this.insert(load, below);
    return true;
  }

  /**
   * Moves a mix under its loads, which stay where they are; false (and nothing changed) when some shelf, stock or wait
   * does not allow it.
   */
  moveMix(batch: number, option: number, start: number, crewRow: number): boolean {
    const { state } = this;
    if (this.model.batches[batch]!.pinned) return false;
    this.touchBatch(batch);
    const placed: number[] = [];
    for (const load of this.model.batches[batch]!.loads) {
      if (state.mode[load]! < 0) continue;
      this.touchLoad(load);
      placed.push(load);
    }
    const modes = placed.map((load) => state.mode[load]!);
    const finishes = placed.map((load) => state.finish[load]!);
    for (const load of placed) state.lift(load);
    state.liftMix(batch);
    state.placeMix(batch, option, start, crewRow);
    const mixEnd = state.mixEnd(batch);
    for (let i = 0; i < placed.length; i++) {
      if (putChain(state, placed[i]!, modes[i]!, finishes[i]!, mixEnd)) continue;
      state.abandon(placed[i]!);
      return false;
    }
    return true;
  }

  /** Lifts mixes that no load needs any more. */
  tidy(): void {
    for (const batch of this.touchedBatches) {
      if (this.model.batches[batch]!.pinned) continue;
      if (this.state.mixOption[batch]! >= 0 && this.state.placedOfBatch[batch] === 0) this.state.liftMix(batch);
    }
    for (const load of this.touchedLoads) {
      const batch = this.model.loads[load]!.batch;
      if (this.model.batches[batch]!.pinned) continue;
      if (this.state.mixOption[batch]! < 0 || this.state.placedOfBatch[batch]! > 0) continue;
      this.touchBatch(batch);
      this.state.liftMix(batch);
    }
  }

  /** Does every heater's lead keep clear of its outages? Removing a first load can expose the next one. */
  leadsClear(): boolean {
    const { heaters } = this.model;
    for (let h = 0; h < heaters.length; h++) {
      const { noLead, leadMinutes } = heaters[h]!;
      if (noLead.length === 0) continue;
      const { heaters: log } = this.state;
      for (let i = 0; 2 * i < heaters[h]!.stretches.length; i++) {
        const first = log.first(h, i);
        if (log.last(h, i) >= 0 && overlapsAny(noLead, first - leadMinutes, first)) return false;
      }
    }
    return true;
  }

  /** Keeps the change. */
  accept(): void {
    this.forget();
  }

  /** Takes the change back. */
  reject(): void {
    const { state } = this;
    for (let i = 0; i < this.touchedLoads.length; i++) {
      const load = this.touchedLoads[i]!;
      if (state.mode[load]! < 0) continue;
      if (this.records[i]!.mode < 0) state.lift(load);
      else state.revert(load, this.records[i]!);
    }
    for (const batch of this.touchedBatches) if (state.mixOption[batch]! >= 0) state.liftMix(batch);
    for (let i = 0; i < this.touchedBatches.length; i++) {
      const record = this.mixRecords[i]!;
      if (record.option >= 0) state.placeMix(this.touchedBatches[i]!, record.option, record.start, record.crewRow);
    }
    for (let i = 0; i < this.touchedLoads.length; i++) {
      const record = this.records[i]!;
      if (record.mode >= 0 && state.mode[this.touchedLoads[i]!]! < 0) state.restore(this.touchedLoads[i]!, record);
    }
    this.forget();
  }

  private forget(): void {
    for (const load of this.touchedLoads) this.loadMark[load] = 0;
    for (const batch of this.touchedBatches) this.batchMark[batch] = 0;
    for (const load of this.waiting) this.waitingMark[load] = 0;
    this.touchedLoads.length = 0;
    this.touchedBatches.length = 0;
    this.waiting.length = 0;
    if (this.audit) this.audit(this.state);
  }
}
