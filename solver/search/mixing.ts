import type { Rng } from "../rng.js";
import type { ChainBounds } from "./bounds.js";
import type { MixOption, Mode } from "./model.js";
import type { State } from "./state.js";

/** How a slot for a mix is picked among the free ones. */
export type MixAim = "earliest" | "latest" | "anywhere" | "opening";

/** When the mix of a batch had better end, by site: between these, every load can be made without penalty. */
interface MixWindow {
  readonly earliestEnd: number;
  readonly latestEnd: number;
}

/** When a mix may end for a load at a site without making it late: over the modes that are least late anyway. */
function endsFor(
  modes: readonly Mode[],
  bounds: readonly ChainBounds[],
  site: number,
): { earliest: number; latest: number } {
  let earliest = 1 << 29;
  let latest = 0;
  let lateAnyway = Number.POSITIVE_INFINITY;
  modes.forEach((mode, m) => {
    const bound = bounds[m]!;
    if (mode.site !== site || bound.lateAnyway > lateAnyway) return;
    if (bound.lateAnyway < lateAnyway) {
      lateAnyway = bound.lateAnyway;
      earliest = 1 << 29;
      latest = 0;
    }
    earliest = Math.min(earliest, bound.zoneFrom - bound.leastAfter - bound.greatestFromMix[mode.anchor]!);
    latest = Math.max(latest, bound.zoneTo - bound.leastAfter - bound.leastFromMix[mode.anchor]!);
  });
  return { earliest, latest };
}

/** Finds free slots on mixers. */
export class MixPlanner {
  option = -1;
  start = -1;
  crewRow = -1;
  private readonly state: State;
  private readonly windows: Map<number, MixWindow>[];
  private readonly free: Int32Array;
  private readonly openings: Int32Array;

  constructor(state: State, bounds: ChainBounds[][]) {
    this.state = state;
    this.free = new Int32Array(state.horizon + 1);
    this.openings = new Int32Array(state.horizon + 1);
    this.windows = state.model.batches.map((batch) => {
      const bySite = new Map<number, MixWindow>();
      for (const site of new Set(batch.options.map((option) => option.site))) {
        let earliestEnd = 0;
        let latestEnd = state.horizon;
        for (const load of batch.loads) {
          const { earliest, latest } = endsFor(state.model.loads[load]!.modes, bounds[load]!, site);
          earliestEnd = Math.max(earliestEnd, earliest);
          latestEnd = Math.min(latestEnd, latest);
        }
        bySite.set(site, { earliestEnd, latestEnd });
      }
      return bySite;
    });
  }

  /** When the mix of a batch had better end at the latest, at its first option's site. */
  latestEnd(batch: number): number {
    return this.windows[batch]!.get(this.state.model.batches[batch]!.options[0]!.site)!.latestEnd;
  }

  /** Picks a slot for a batch that is not mixed, on the option given or one at random; false when there is none. */
  pick(batch: number, aim: MixAim, rng: Rng, option = -1): boolean {
    const options = this.state.model.batches[batch]!.options;
    const first = option >= 0 ? option : rng.below(options.length);
    for (let i = 0; i < (option >= 0 ? 1 : options.length); i++) {
      const index = (first + i) % options.length;
      if (this.pickOn(batch, index, aim, rng)) return true;
    }
    return false;
  }

  private pickOn(batch: number, index: number, aim: MixAim, rng: Rng): boolean {
    const mix = this.state.model.batches[batch]!.options[index]!;
    const window = this.windows[batch]!.get(mix.site)!;
    const count = this.freeStarts(mix);
    if (count === 0) return false;
    let low = 0;
    while (low < count && this.free[low]! + mix.minutes < window.earliestEnd) low++;
    let high = count - 1;
    while (high >= 0 && this.free[high]! + mix.minutes > window.latestEnd) high--;
    let at: number;
    if (high < 0) at = aim === "anywhere" ? rng.below(Math.min(count, 60)) : 0;
    else if (low > high) at = aim === "latest" ? high : aim === "earliest" ? 0 : rng.below(high + 1);
    else if (aim === "latest") at = high;
    else if (aim === "earliest") at = low;
    else if (aim === "opening") at = this.opening(low, high, rng);
    else at = low + rng.below(high - low + 1);
    this.option = index;
    this.start = this.free[at]!;
    this.crewRow = mix.crew ? this.state.crewFor(mix.crew, this.start, this.start + mix.minutes) : -1;
    return true;
  }

  /** One of the starts that come right after something busy: a shift's opening minute, another mix's end. */
  private opening(low: number, high: number, rng: Rng): number {
    let count = 0;
    for (let i = low; i <= high; i++) {
      if (i === 0 || this.free[i]! !== this.free[i - 1]! + 1) this.openings[count++] = i;
      else if (i === high || this.free[i + 1]! !== this.free[i]! + 1) this.openings[count++] = i;
    }
    return count > 0 ? this.openings[rng.below(count)]! : low;
  }

  /** All free starts of an option, ascending: the first `count` of `starts`. */
  freeOn(batch: number, option: number): { starts: Int32Array; count: number } {
    return { starts: this.free, count: this.freeStarts(this.state.model.batches[batch]!.options[option]!) };
  }

  /** Makes a slot found elsewhere the one that was picked. */
  choose(batch: number, option: number, start: number): void {
    const { crew, minutes } = this.state.model.batches[batch]!.options[option]!;
    this.option = option;
    this.start = start;
    this.crewRow = crew ? this.state.crewFor(crew, start, start + minutes) : -1;
  }

  /** Fills `free` with the starts at which mixer and crew are free, ascending; returns how many. */
  private freeStarts(mix: MixOption): number {
    const { horizon, free } = this.state;
    const { minutes, crew } = mix;
    const base = mix.row * horizon;
    const last = Math.min(mix.to, horizon - minutes);
    let count = 0;
    let scan = mix.from;
    let bad = -1;
    for (let t = mix.from; t <= last; t++) {
      while (scan < t + minutes) {
        if (free[base + scan]! < 1) bad = scan;
        scan++;
      }
      if (bad >= t) {
        t = bad;
        continue;
      }
      this.free[count++] = t;
    }
    if (!crew) return count;
    return this.keepCrewed(count, mix);
  }

  private keepCrewed(count: number, mix: MixOption): number {
    const { horizon, free } = this.state;
    const { minutes } = mix;
    const crew = mix.crew!;
    if (count === 0) return 0;
    let kept = 0;
    if (crew.rows.length === 1) {
      const base = crew.rows[0]! * horizon;
      let scan = this.free[0]!;
      let bad = -1;
      for (let i = 0; i < count; i++) {
        const t = this.free[i]!;
        if (scan < t) scan = t;
        while (scan < t + minutes) {
          if (free[base + scan]! < crew.heads) bad = scan;
          scan++;
        }
        if (bad < t) this.free[kept++] = t;
      }
      return kept;
    }
    for (let i = 0; i < count; i++) {
      const t = this.free[i]!;
      if (this.state.crewFor(crew, t, t + minutes) >= 0) this.free[kept++] = t;
    }
    return kept;
  }
}
