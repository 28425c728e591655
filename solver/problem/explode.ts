import type { Product, Share } from "../../schemas/index.js";
import { doughForPiecesG } from "../trade/dough.js";
import { fullPan } from "./containers.js";
import type { DayIndex, Want } from "./day-index.js";

/** Pieces of one line that are to be made in one way. */
export interface Portion {
  readonly want: Want;
  readonly pieces: number;
}

/** Where loads are mixed and baked, and what they stand in while they are retarded; null: they are not. */
export interface LotWay {
  readonly mixSite: string;
  readonly bakeSite: string;
  readonly retards: "tubs" | "pans" | null;
}

/** Lines, or parts of lines, of one product for one site that are to be made alike. */
export interface Lot {
  readonly product: Product;
  readonly deliverTo: string;
  /** The planner's fixed site. */
  readonly madeAt: string | undefined;
  /** Where the assignment would have it mixed. */
  readonly mixSite: string;
  readonly portions: readonly Portion[];
  /** No load has more pans. */
  readonly maxPans: number;
  /** No load has more pieces. Default: as many as the pans take. */
  readonly maxPieces?: number;
  /** May a load that begins with the first line serve the next one too? Default: when they are due within 45 minutes. */
  readonly mayShare?: (first: Want, next: Want) => boolean;
  /** Its loads are made in no other way. */
  readonly onlyWay?: LotWay;
}

/** Pans of one product that move together. */
export interface LoadSpec {
  readonly id: string;
  readonly product: string;
  readonly deliverTo: string;
  readonly madeAt: string | undefined;
  readonly mixSite: string;
  readonly pieces: number;
  readonly pans: number;
  readonly doughG: number;
  readonly portions: readonly Portion[];
  /** The trip that it rides in the timetable in force: it can go on doing so. */
  readonly trip?: string;
  /** It is made in no other way, if in this one at all. */
  readonly onlyWay?: LotWay;
  /** Dough in its tubs, g, where they are filled already, and otherwise than they would be now. */
  readonly tubsG?: readonly number[];
}

/** Portions due within so many minutes of the first may share a load. */
const TOGETHER_MINUTES = 45;

function dueTogether(first: Want, next: Want): boolean {
  return next.due - first.due <= TOGETHER_MINUTES;
}

export function sharesOf(load: LoadSpec): Share[] {
  return load.portions.map(({ want, pieces }) => ({ line: want.line.id, pieces }));
}

/** Pieces -> pans -> loads: full pans as far as the lines of a lot go, in order of due time. */
export function explodeLot(index: DayIndex, lot: Lot, nextId: () => string): LoadSpec[] {
  const perPan = fullPan(index, lot.product);
  const perLoad = Math.min(perPan * lot.maxPans, lot.maxPieces ?? Number.POSITIVE_INFINITY);
  if (perLoad === 0) return [];
  const loads: LoadSpec[] = [];
  let portions: Portion[] = [];
  let pieces = 0;
  const close = (): void => {
    if (pieces === 0) return;
    loads.push({
      id: nextId(),
      product: lot.product.id,
      deliverTo: lot.deliverTo,
      madeAt: lot.madeAt,
      mixSite: lot.mixSite,
      pieces,
      pans: Math.ceil(pieces / perPan),
      // A load of nothing is none: what rounds to no gram has one.
      doughG: Math.max(1, Math.round(doughForPiecesG(lot.product, pieces))),
      portions,
      ...(lot.onlyWay ? { onlyWay: lot.onlyWay } : {}),
    });
    portions = [];
    pieces = 0;
  };
  const sorted = [...lot.portions].sort(
    (a, b) => a.want.due - b.want.due || (a.want.line.id < b.want.line.id ? -1 : 1),
  );
  for (const portion of sorted) {
    const first = portions[0];
    if (first && !(lot.mayShare ?? dueTogether)(first.want, portion.want)) close();
    let rest = portion.pieces;
    while (rest > 0) {
      const taken = Math.min(rest, perLoad - pieces);
      portions.push({ want: portion.want, pieces: taken });
      pieces += taken;
      rest -= taken;
      if (pieces === perLoad) close();
    }
  }
  close();
  return loads;
}
