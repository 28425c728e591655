import type { Rng } from "../rng.js";
import type { BoundsBook, ChainBounds } from "./bounds.js";
import { MinuteSet } from "./minute-set.js";
import type { MixOption, Mode } from "./model.js";
import type { State } from "./state.js";
import { keepClear, keepCrewed } from "./sweeps.js";

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
  private readonly bounds: BoundsBook;
  /** By batch and site, worked out when first asked for. */
  private readonly windows: Map<number, MixWindow>[];
  private readonly whole: MinuteSet;
  private readonly mixable: MinuteSet;
  private readonly crewed: MinuteSet;

  constructor(state: State, bounds: BoundsBook) {
    this.state = state;
    this.bounds = bounds;
    this.whole = new MinuteSet(state.horizon);
    this.mixable = new MinuteSet(state.horizon);
    this.crewed = new MinuteSet(state.horizon);
    this.windows = state.model.batches.map(() => new Map());
  }

  private window(batch: number, site: number): MixWindow {
    const known = this.windows[batch]!.get(site);
    if (known) return known;
    const { model, horizon } = this.state;
    let earliestEnd = 0;
    let latestEnd = horizon;
    for (const load of model.batches[batch]!.loads) {
      const { earliest, latest } = endsFor(model.loads[load]!.modes, this.bounds.of(load), site);
      earliestEnd = Math.max(earliestEnd, earliest);
      latestEnd = Math.min(latestEnd, latest);
    }
    const window = { earliestEnd, latestEnd };
    this.windows[batch]!.set(site, window);
    return window;
  }

  /** When the mix of a batch had better end at the latest, at its first option's site. */
  latestEnd(batch: number): number {
    return this.window(batch, this.state.model.batches[batch]!.options[0]!.site).latestEnd;
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
    const { options } = this.state.model.batches[batch]!;
    const mix = options[index]!;
    const { earliestEnd, latestEnd } = this.window(batch, mix.site);
    const free = this.freeStarts(mix);
    if (free.count === 0) return false;
    const from = earliestEnd - mix.minutes;
    const to = latestEnd - mix.minutes;
    let start: number;
    if (free.first > to) start = aim === "anywhere" ? free.pick(free.first, free.first + 60, rng) : free.first;
    else if (free.atOrBefore(to) < from) start = aim === "latest" ? free.atOrBefore(to) : free.pick(0, to, rng);
    else if (aim === "latest") start = free.atOrBefore(to);
    else if (aim === "earliest") start = free.atOrAfter(from);
    else if (aim === "opening") start = free.pickEdge(from, to, rng);
    else start = free.pick(from, to, rng);
    this.choose(batch, index, start);
    return true;
  }

  /** All free starts of an option; good until the next call. */
  freeOn(batch: number, option: number): MinuteSet {
    return this.freeStarts(this.state.model.batches[batch]!.options[option]!);
  }

  /** Makes a slot the one that was picked. */
  choose(batch: number, option: number, start: number): void {
    const { crew, minutes } = this.state.model.batches[batch]!.options[option]!;
    this.option = option;
    this.start = start;
    this.crewRow = crew ? this.state.crewFor(crew, start, start + minutes) : -1;
  }

  /** The starts at which mixer and crew are free. */
  private freeStarts({ row, minutes, crew, from, to }: MixOption): MinuteSet {
    const { horizon, free } = this.state;
    const { whole, mixable, crewed } = this;
    whole.clear();
    whole.add(from, to);
    mixable.clear();
    keepClear(whole, free, horizon, row, 1, minutes, mixable);
    if (crew === null) return mixable;
    crewed.clear();
    keepCrewed(mixable, free, horizon, crew, minutes, crewed);
    return crewed;
  }
}
