import { createRng, type Rng } from "../../../solver/rng.js";
import type { CoreInstance, CoreLoad } from "./format.js";

/** Instances by the recipe at the end of the core set's SPEC.md, by seed: none of them was looked at while the search was tuned. */

export type CoreSize = "XS" | "S" | "M" | "L" | "XL";

interface Recipe {
  readonly batches: number;
  readonly loads: number;
  readonly mixersKg: readonly number[];
  readonly kettles: number;
  readonly decks: number;
}

const RECIPES: Readonly<Record<CoreSize, Recipe>> = {
  /** Smaller than the recipe knows: for integer programs. */
  XS: { batches: 2, loads: 5, mixersKg: [60], kettles: 1, decks: 2 },
  S: { batches: 6, loads: 20, mixersKg: [60], kettles: 1, decks: 4 },
  M: { batches: 15, loads: 60, mixersKg: [60, 60], kettles: 2, decks: 8 },
  L: { batches: 40, loads: 200, mixersKg: [60, 60, 40], kettles: 3, decks: 16 },
  XL: { batches: 100, loads: 600, mixersKg: [60, 60, 40, 60, 40, 80], kettles: 6, decks: 40 },
};
const HORIZON = 2160;
const EVENING_END = 480;
const MORNING = 780;
const PEAK = 1050;
const PEAK_END = 1260;
const DAY_END = 1440;

class Maker {
  private readonly rng: Rng;
  private readonly recipe: Recipe;

  constructor(seed: number, size: CoreSize) {
    this.rng = createRng(seed * 104_729 + size.charCodeAt(0) + size.length);
    this.recipe = RECIPES[size];
  }

  private int(low: number, high: number): number {
    return low + this.rng.below(high - low + 1);
  }

  private pick<T>(items: readonly T[]): T {
    return items[this.rng.below(items.length)]!;
  }

  /** What all loads of a product have in common. */
  private product() {
    const boil = this.rng.below(5) > 0;
    const proofMin = 5 * this.int(7, 14);
    const pans = this.int(1, 4);
    const pieces = pans * this.pick([20, 24, 24, 30]);
    return {
      boil,
      boilToBakeMax: boil ? this.pick([8, 10, 12, 15]) : 0,
      temperMin: 5 * this.int(7, 12),
      proofMin,
      proofMax: proofMin + 5 * this.int(8, 12),
      bakeMin: this.int(11, 30),
      bakeC: this.pick([225, 240, 260]),
      coolMin: 5 * this.int(4, 8),
      mixMin: 2 * this.int(5, 8),
      retardMin: 120 * this.int(4, 6),
      retardMax: this.pick([1080, 1440, 2160, 2880]),
      pans,
      pieces,
      tubs: Math.max(1, Math.ceil(pieces / 45)),
      shapeMin: 4 + Math.ceil(pieces / 22),
    };
  }

  private decks(): CoreInstance["decks"] {
    const decks: CoreInstance["decks"][number][] = [];
    while (decks.length < this.recipe.decks) {
      const kind = this.pick([
        { pans: 4, coldStartMin: 45, upCPerMin: 2.5, downCPerMin: 1.5 },
        { pans: this.int(2, 6), coldStartMin: 50, upCPerMin: 2, downCPerMin: 1 },
        { pans: 3, coldStartMin: 40, upCPerMin: 3, downCPerMin: 1.5 },
      ]);
      // The first decks take the largest loads.
      const pans = decks.length === 0 ? 4 : kind.pans;
      const group = Math.min(this.pick([2, 4]), this.recipe.decks - decks.length);
      for (let i = 0; i < group; i++) decks.push({ id: `D${decks.length + 1}`, ...kind, pans });
    }
    return decks;
  }

  make(name: string, seed: number): CoreInstance {
    const { batches: batchCount, loads: loadCount, mixersKg, kettles: kettleCount } = this.recipe;
    const products = Array.from({ length: 8 }, () => this.product());
    const batches: CoreInstance["batches"][number][] = [];
    const loads: Omit<CoreLoad, "due">[] = [];
    const each = loadCount / batchCount;
    for (let b = 0; b < batchCount; b++) {
      const { mixMin, retardMin, retardMax, ...product } = this.pick(products);
      const id = `B${String(b + 1).padStart(3, "0")}`;
      const count = Math.round((b + 1) * each) - Math.round(b * each);
      const weight = this.int(1, 3);
      for (let l = 0; l < count; l++)
        loads.push({ id: `L${String(loads.length + 1).padStart(4, "0")}`, batch: id, weight, ...product });
      const kg = Math.max(8, Math.min(60, Math.round(count * product.tubs * (3.5 + 1.5 * this.rng.unit()))));
      batches.push({ id, mixMin, kg, retardMin, retardMax });
    }
    const decks = this.decks();
    const share = 0.75 + 0.2 * this.rng.unit();
    const piecesPerDip = this.pick([24, 30, 36]);
    const dips = loads.reduce((sum, load) => sum + (load.boil ? Math.ceil(load.pieces / piecesPerDip) : 0), 0);
    // The kettles or the decks are the bottleneck of the peak; both are as busy as the recipe asks for at the most.
    const peakMinutes = PEAK_END - PEAK + 120;
    const positions = decks.reduce((sum, deck) => sum + deck.pans, 0);
    const deckMinutes = loads.reduce((sum, load) => sum + load.pans * (load.bakeMin + 2), 0) / positions;
    const cycleSec = Math.max(60, 5 * Math.floor((peakMinutes * share * kettleCount * 60) / Math.max(1, dips) / 5));
    const kettles = Array.from({ length: kettleCount }, (_, k) => ({
      id: `K${k + 1}`,
      piecesPerDip,
      cycleSec: Math.min(cycleSec, 160),
    }));
    const boilMinutes = (dips * kettles[0]!.cycleSec) / 60;
    const work = loads.reduce((sum, load) => sum + load.shapeMin, 0) + boilMinutes;
    const mixing = batches.reduce((sum, batch) => sum + batch.mixMin, 0);
    const night = Math.max(2, Math.ceil(work / (440 * share)));
    const busiest = Math.max(boilMinutes / kettleCount, deckMinutes, work / night);
    const span = Math.min(PEAK_END - PEAK, Math.max(90, 15 * Math.round((busiest / share - 60) / 15)));
    return {
      name,
      seed,
      horizon: HORIZON,
      mixers: mixersKg.map((maxKg, m) => ({ id: `M${m + 1}`, maxKg: maxKg === 40 && m === 0 ? 60 : maxKg })),
      shelfTubs: loads.reduce((sum, load) => sum + load.tubs, 0) + 2,
      crew: [
        { from: 0, to: EVENING_END, heads: Math.max(1, Math.ceil(mixing / (EVENING_END * 0.6))) },
        { from: MORNING, to: 1140, heads: night },
        { from: 1140, to: DAY_END, heads: Math.max(2, Math.ceil(night * 0.8)) },
      ],
      proofPans: this.held(loads, span, (load) => load.proofMin + 15),
      kettles,
      decks,
      coolPans: this.held(loads, span, (load) => load.coolMin + 10),
      outages: this.rng.below(2) === 0 ? [] : [{ unit: this.pick(decks).id, from: 960, to: this.pick([1020, 1050]) }],
      batches,
      loads: loads.map((load) => ({ ...load, due: this.due(span) })),
    };
  }

  /** Pan places that the loads need in the peak for so many minutes each. */
  private held(
    loads: readonly Omit<CoreLoad, "due">[],
    span: number,
    minutes: (load: Omit<CoreLoad, "due">) => number,
  ) {
    const panMinutes = loads.reduce((sum, load) => sum + load.pans * minutes(load), 0);
    return Math.max(8, Math.ceil(panMinutes / (span + 210)));
  }

  /** Four in five in the peak, the rest until noon, on quarters of an hour. */
  private due(span: number): number {
    const [from, to] = this.rng.below(5) > 0 ? [PEAK, PEAK + span] : [PEAK + span, DAY_END];
    return from + 15 * this.rng.below(Math.floor((to - from) / 15) + 1);
  }
}

/** A core instance kept apart from the named ones. */
export function heldOut(size: CoreSize, seed: number): CoreInstance {
  return new Maker(seed, size).make(`H-${size}-${seed}`, seed);
}
