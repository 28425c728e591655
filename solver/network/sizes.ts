import type { BoilStep, Dough, HandStep, Kettle, Product } from "../../schemas/index.js";
import { boilMinutes } from "../trade/kettle.js";
import { workedMinutes } from "../trade/steps.js";

/** A step takes at least `minutes`, and no load that it takes as long has more pieces. */
export interface Size {
  readonly minutes: number;
  readonly pieces: number;
}

/** What a step can last, over every size that a load can have. */
export interface StepSizes {
  readonly list: readonly Size[];
  readonly greatest: number;
}

/** The sizes that a load can have. */
export interface LoadSizes {
  readonly perPan: number;
  readonly mostPans: number;
}

/** No more load sizes than this are looked at one by one; beyond it, several together as the shortest and the largest of them. */
const MOST_SIZES = 3000;
const MOST_ENTRIES = 24;

/** All that a step's minutes can be, each with the most pieces; `minutesOf` does not fall with the pieces. */
function sizesBy(mostPieces: number, minutesOf: (pieces: number) => number): StepSizes {
  const chunk = Math.max(1, Math.ceil(mostPieces / MOST_SIZES));
  const found: { minutes: number; pieces: number }[] = [];
  for (let low = 0; low < mostPieces; low += chunk) {
    const minutes = minutesOf(low + 1);
    const pieces = Math.min(mostPieces, low + chunk);
    const last = found[found.length - 1];
    if (last && last.minutes === minutes) last.pieces = pieces;
    else found.push({ minutes, pieces });
  }
  const greatest = minutesOf(mostPieces);
  const merge = Math.ceil(found.length / MOST_ENTRIES);
  if (merge <= 1) return { list: found, greatest };
  const merged: Size[] = [];
  for (let i = 0; i < found.length; i += merge) {
    merged.push({ minutes: found[i]!.minutes, pieces: found[Math.min(found.length - 1, i + merge - 1)]!.pieces });
  }
  return { list: merged, greatest };
}

export function handSizes(step: HandStep, { perPan, mostPans }: LoadSizes): StepSizes {
  return sizesBy(perPan * mostPans, (pieces) => workedMinutes(step, pieces, Math.ceil(pieces / perPan)));
}

/** Null when the pieces are too large for the kettle. */
export function boilSizes(
  kettle: Kettle,
  step: BoilStep,
  product: Product,
  dough: Dough,
  { perPan, mostPans }: LoadSizes,
): StepSizes | null {
  if (boilMinutes(kettle, step, product, dough, 1) === null) return null;
  return sizesBy(perPan * mostPans, (pieces) => boilMinutes(kettle, step, product, dough, pieces)!);
}

/** The fewest tubs that a piece takes, whatever the load: a load owns its tubs, so small loads take more. */
export function tubsPerPiece(doughPerPieceG: number, limitG: number, { perPan, mostPans }: LoadSizes): number {
  const most = perPan * mostPans;
  const tubs = Math.ceil((most * doughPerPieceG) / limitG - 1e-9);
  let best = Number.POSITIVE_INFINITY;
  for (let n = 1; n <= tubs; n++) {
    // A gram a tub is the rounding that the rules allow.
    const pieces = Math.min(most, Math.floor((n * (limitG + 1)) / doughPerPieceG));
    if (pieces > 0) best = Math.min(best, n / pieces);
  }
  return Number.isFinite(best) ? best : doughPerPieceG / (limitG + 1);
}
