import { clearFrom, clearUntil } from "../clearance.js";
import type { Draft } from "../draft.js";
import { NO_LOAD } from "../heaters.js";
import { MAX_OPERATIONS, type Mode } from "../model.js";
import { recreate } from "../recreate.js";
import { STRIDE, TAKE } from "../state.js";
import { firstWithout } from "../sweeps.js";

/** No more loads make way for one. */
const MOST_EJECTED = 14;
/** Of so many draws of times that might do, the least crowded is taken, */
const DRAWS = 3;
/** and no more are tried. */
const MOST_DRAWS = 30;
/** About how long a change of class takes. */
const CHANGE_MINUTES = 15;
/** A load with so much time to spare is half as much needed where it is. */
const SLACK_MINUTES = 60;
/** Of the goes at a load that shares its batch with others, one in so many mixes the batch anew. */
const REMIX_EVERY = 3;

/**
 * A load that is not made is put at a time of its own choosing: whatever stands in its way on the deck, the shelf, the bench, among the people or
 * at the mixer goes, the least needed first, and finds another place or none (ejection: Nagata & Bräysy, "A powerful route minimization heuristic",
 * Operations Research Letters 37, 2009). False: it came to nothing.
 */
export function eject(draft: Draft, load: number): boolean {
  const { rng, state, model } = draft;
  const { batch, modes } = model.loads[load]!;
  const { options, loads } = model.batches[batch]!;
  if (state.mixOption[batch]! >= 0 && (loads.length === 1 || rng.below(REMIX_EVERY) === 0)) draft.removeBatch(batch);
  const isMixed = state.mixOption[batch]! >= 0;
  const option = isMixed ? state.mixOption[batch]! : rng.below(options.length);
  const { site } = options[option]!;
  const fitting: number[] = [];
  modes.forEach((mode, m) => {
    const { from, to } = bearable(draft, load, m);
    if (mode.site === site && from <= to) fitting.push(m);
  });
  if (fitting.length === 0) return false;
  const m = fitting[rng.below(fitting.length)]!;
  const way = new Clearing(draft, load, m);
  if (!way.draw(isMixed ? state.mixEnd(batch) : -1, option) || !way.clear(isMixed ? -1 : option)) return false;
  if (state.mixOption[batch]! < 0) {
    draft.mixes.choose(batch, option, way.mixEnd - options[option]!.minutes);
    draft.mix(batch);
  }
  if (!draft.insert(load, state.dropCost[load]!, m < 31 ? 1 << m : -1)) return false;
  return recreate(draft);
}

/** When a load may end for less than it is worth, however early or late that is. */
function bearable({ model, bounds }: Draft, load: number, m: number): { from: number; to: number } {
  const { lateCost, earlyCost, dropCost, modes } = model.loads[load]!;
  const { finishBy, deliveredAt } = modes[m]!;
  let { zoneFrom: from, zoneTo: to } = bounds.of(load)[m]!;
  while (from > 0 && earlyCost[from - 1]! < dropCost) from--;
  const last = deliveredAt < 0 ? Math.min(model.horizon, finishBy) : to;
  while (to < last && lateCost[to + 1]! < dropCost) to++;
  return { from, to };
}

/** Times for one load in one mode, and what has to go for them. */
class Clearing {
  private readonly draft: Draft;
  private readonly load: number;
  private readonly mode: Mode;
  private readonly modeIndex: number;
  private readonly start = new Int32Array(MAX_OPERATIONS);
  private readonly alternative = new Int32Array(MAX_OPERATIONS);
  mixEnd = -1;
  private keptMixEnd = -1;
  private readonly keptStart = new Int32Array(MAX_OPERATIONS);
  private readonly keptAlternative = new Int32Array(MAX_OPERATIONS);
  private ejected = 0;
  /** When the load may end. */
  private readonly from: number;
  private readonly to: number;

  constructor(draft: Draft, load: number, modeIndex: number) {
    this.draft = draft;
    this.load = load;
    this.modeIndex = modeIndex;
    this.mode = draft.model.loads[load]!.modes[modeIndex]!;
    const { rng } = draft;
    const { zoneFrom, zoneTo } = draft.bounds.of(load)[modeIndex]!;
    const { from, to } = bearable(draft, load, modeIndex);
    // Somewhat early or late rather than very.
    this.from = from < zoneFrom && rng.below(2) === 0 ? from + rng.below(zoneFrom - from + 1) : zoneFrom;
    this.to = to > zoneTo && rng.below(2) === 0 ? zoneTo + rng.below(to - zoneTo + 1) : zoneTo;
  }

  /**
   * Of some times drawn by chance, such as an empty kitchen would have room for, those where the least lies on the heater; with `mixEnd` >= 0 they
   * follow that mix. False: none were found.
   */
  draw(mixEnd: number, option: number): boolean {
    const { mode, start, alternative } = this;
    const { state } = this.draft;
    let least = Number.POSITIVE_INFINITY;
    let found = 0;
    for (let d = 0; d < MOST_DRAWS && found < DRAWS && least > 0; d++) {
      if (!this.drawTimes(mixEnd, option) || !this.isPossible()) continue;
      found++;
      const at = start[mode.anchor]!;
      const { row, amount, minutes } = mode.operations[mode.anchor]!.alternatives[alternative[mode.anchor]!]!;
      const burden = state.fits(row, at, at + minutes, amount) ? 0 : this.burden(row, at, at + minutes);
      if (burden >= least) continue;
      least = burden;
      this.keptMixEnd = this.mixEnd;
      this.keptStart.set(start);
      this.keptAlternative.set(alternative);
    }
    this.mixEnd = this.keptMixEnd;
    start.set(this.keptStart);
    alternative.set(this.keptAlternative);
    return found > 0;
  }

  /** Times within the holds and before due. */
  private drawTimes(mixEnd: number, option: number): boolean {
    const { draft, mode, start, alternative } = this;
    const { rng, state, model } = draft;
    const { batch } = model.loads[this.load]!;
    const bound = draft.bounds.of(this.load)[this.modeIndex]!;
    const { from, to, minutes } = model.batches[batch]!.options[option]!;
    const mixFrom = mixEnd >= 0 ? mixEnd : from + minutes;
    const mixTo = mixEnd >= 0 ? mixEnd : to + minutes;
    const { anchor, operations, holds } = mode;
    const first = Math.max(
      this.from - bound.greatestAfter,
      mixFrom + bound.leastFromMix[anchor]!,
      operations[anchor]!.from,
    );
    const last = Math.min(this.to - bound.leastAfter, mixTo + bound.greatestFromMix[anchor]!, operations[anchor]!.to);
    if (first > last) return false;
    operations.forEach((operation, k) => {
      alternative[k] = rng.below(operation.alternatives.length);
    });
    start[anchor] = this.time(anchor, first, last);
    for (let k = anchor - 1; k >= 0; k--) {
      const next = start[k + 1]! - operations[k]!.alternatives[alternative[k]!]!.minutes;
      const low = Math.max(next - holds[k + 1]!.greatest, mixFrom + bound.leastFromMix[k]!, operations[k]!.from, 0);
      const high = Math.min(next - holds[k + 1]!.least, mixTo + bound.greatestFromMix[k]!, operations[k]!.to);
      if (low > high) return false;
      start[k] = this.time(k, low, high);
    }
    const low = Math.max(mixFrom, start[0]! - holds[0]!.greatest);
    const high = Math.min(mixTo, start[0]! - holds[0]!.least);
    if (low > high) return false;
    this.mixEnd = low + rng.below(high - low + 1);
    // After the anchor everything as early as it can be.
    for (let k = anchor + 1; k < operations.length; k++) {
      const end = start[k - 1]! + operations[k - 1]!.alternatives[alternative[k - 1]!]!.minutes;
      start[k] = end + holds[k]!.least;
    }
    return start[operations.length - 1]! <= state.horizon;
  }

  /** Half of the time where the plan in force has the operation, if it has it in between: that place is free as often as not, and costs no move. */
  private time(k: number, low: number, high: number): number {
    const { rng, model } = this.draft;
    const { home } = model.loads[this.load]!;
    const isHome =
      home !== undefined && home.mode === this.modeIndex && home.starts[k]! >= low && home.starts[k]! <= high;
    if (!isHome || rng.below(2) === 0) return low + rng.below(high - low + 1);
    this.alternative[k] = home.alternatives[k]!;
    return home.starts[k]!;
  }

  /** Would there be units in service and people at these times, if nothing else were made? */
  private isPossible(): boolean {
    const { mode, start, alternative } = this;
    const { capacity, horizon } = this.draft.model;
    const has = (row: number, from: number, to: number, amount: number): boolean =>
      to <= horizon && firstWithout(capacity, row * horizon, amount, from, to) === to;
    for (let k = 0; k < mode.operations.length; k++) {
      const { alternatives, crew } = mode.operations[k]!;
      const { row, amount, minutes } = alternatives[alternative[k]!]!;
      const from = start[k]!;
      if (row >= 0 && !has(row, from, from + minutes, amount)) return false;
      if (!crew) continue;
      const to = from + (crew.minutes > 0 ? crew.minutes : minutes);
      if (!crew.rows.some((own) => has(own, from, to, crew.heads))) return false;
    }
    return true;
  }

  /** What lies on a row's heater between two minutes, by what it would cost not to make it. */
  private burden(row: number, from: number, to: number): number {
    const { state, model } = this.draft;
    const { heaters } = state;
    const heater = model.heaterOfRow[row]!;
    let sum = 1;
    for (let i = heaters.from(heater), end = heaters.until(heater); i < end; i++) {
      const isOther = heaters.classes[i] !== model.classOfRow[row];
      const around = isOther ? CHANGE_MINUTES : 0;
      if (heaters.starts[i]! >= to + around || heaters.ends[i]! <= from - around) continue;
      if (heaters.loads[i]! !== NO_LOAD) sum += this.need(heaters.loads[i]!);
    }
    return sum;
  }

  /** How much a load is needed where it is: one that could be made much later is moved more easily. */
  private need(load: number): number {
    const { state, bounds } = this.draft;
    const slack = bounds.of(load)[state.mode[load]!]!.zoneTo - state.finish[load]!;
    return state.dropCost[load]! / (1 + Math.max(0, slack) / SLACK_MINUTES);
  }

  /** Lifts what stands in the way; `option`: mix there too (-1: mixed already). */
  clear(option: number): boolean {
    const { draft, mode, mixEnd, start, alternative } = this;
    const { state, model } = draft;
    const { batch } = model.loads[this.load]!;
    if (option >= 0) {
      const { row, minutes, crew } = model.batches[batch]!.options[option]!;
      if (!this.room([row], mixEnd - minutes, mixEnd, 1)) return false;
      if (crew && !this.room(crew.rows, mixEnd - minutes, mixEnd, crew.heads)) return false;
    }
    let end = mixEnd;
    for (let k = 0; k < mode.operations.length; k++) {
      const { alternatives, crew } = mode.operations[k]!;
      const { row, amount, minutes } = alternatives[alternative[k]!]!;
      const { rows, amount: places, ride } = mode.holds[k]!;
      const at = start[k]!;
      if (rows.length > 0 && !this.room(rows, end, ride ? Math.min(ride.leave, at) : at, places)) return false;
      if (ride && ride.rows.length > 0 && !this.room(ride.rows, ride.arrive, at, places)) return false;
      end = at + minutes;
      if (row >= 0 && !this.room([row], at, end, amount)) return false;
      if (crew && !this.room(crew.rows, at, crew.minutes > 0 ? at + crew.minutes : end, crew.heads)) return false;
    }
    for (const span of mode.spans) {
      const from = span.fromOperation < 0 ? mixEnd : start[span.fromOperation]!;
      const to = span.toOperation < 0 ? state.horizon : start[span.toOperation]!;
      if (!this.room([span.row], from, to, span.amount)) return false;
    }
    if (mode.trip >= 0) return this.room([model.trips[mode.trip]!.row], 0, 1, mode.tripAmount);
    return true;
  }

  /** Makes room on one of the rows. */
  private room(rows: ArrayLike<number>, from: number, to: number, amount: number): boolean {
    const { state, rng } = this.draft;
    if (to <= from) return true;
    for (let i = 0; i < rows.length; i++) if (state.fits(rows[i]!, from, to, amount)) return true;
    const first = rng.below(rows.length);
    for (let i = 0; i < rows.length; i++)
      if (this.lift(rows[(first + i) % rows.length]!, from, to, amount)) return true;
    return false;
  }

  /** Lifts loads, and batches, that take from the row or from a rival of it until there is room. */
  private lift(row: number, from: number, to: number, amount: number): boolean {
    const { draft } = this;
    const { state, model, rng } = draft;
    const spans = [row, from, to];
    const conflicts = model.conflicts[row]!;
    const standstills = model.standstills[row]!;
    for (let c = 0; c < conflicts.length; c += 3)
      spans.push(
        conflicts[c]!,
        clearUntil(standstills, from, conflicts[c + 1]!),
        clearFrom(standstills, to, conflicts[c + 2]!),
      );
    const overlaps = (own: number, start: number, end: number): boolean => {
      for (let s = 0; s < spans.length; s += 3)
        if (spans[s] === own && start < spans[s + 2]! && end > spans[s + 1]!) return true;
      return false;
    };
    const found: { key: number; load: number; batch: number }[] = [];
    for (let l = 0; l < model.loads.length; l++) {
      if (l === this.load || state.mode[l]! < 0 || model.loads[l]!.pinned) continue;
      const base = l * STRIDE;
      for (let i = 0; i < state.takeCount[l]!; i++) {
        const at = base + TAKE * i;
        if (!overlaps(state.takes[at]!, state.takes[at + 1]!, state.takes[at + 2]!)) continue;
        found.push({ key: this.need(l) * (0.5 + rng.unit()), load: l, batch: -1 });
        break;
      }
    }
    for (let b = 0; b < model.batches.length; b++) {
      const option = state.mixOption[b]!;
      if (option < 0 || b === model.loads[this.load]!.batch || model.batches[b]!.pinned) continue;
      const mix = model.batches[b]!.options[option]!;
      const start = state.mixStart[b]!;
      const isOn = overlaps(mix.row, start, start + mix.minutes);
      const isBy = state.mixCrew[b]! >= 0 && overlaps(state.mixCrew[b]!, start, start + mix.minutes);
      if (!isOn && !isBy) continue;
      let key = 0;
      for (const l of model.batches[b]!.loads) key += state.dropCost[l]!;
      found.push({ key: key * (0.5 + rng.unit()), load: -1, batch: b });
    }
    found.sort((a, b) => a.key - b.key);
    for (const { load, batch } of found) {
      if (this.ejected >= MOST_EJECTED) return false;
      if (batch >= 0) {
        this.ejected += model.batches[batch]!.loads.length;
        draft.removeBatch(batch);
      } else if (state.mode[load]! >= 0) {
        this.ejected++;
        draft.removeWithMix(load);
      }
      if (state.fits(row, from, to, amount)) return true;
    }
    return false;
  }
}
