/**
 * What a piece takes of a pool, at the least, whatever the size of its load and whichever unit serves it. A task lasts what its size
 * says, a stay anything from its least on.
 */
export type Need =
  | {
      readonly kind: "task";
      readonly per: Per;
      readonly pool: number;
      readonly link: number;
      readonly sizes: readonly TaskSize[];
      /** People who leave before the task ends: only so many minutes count. */
      readonly firstMinutes: number;
    }
  | {
      readonly kind: "stay";
      readonly per: Per;
      readonly pool: number;
      readonly from: Edge;
      readonly to: Edge;
      readonly perPiece: number;
      readonly leastMinutes: number;
    };

/** What it is counted by: amounts per piece of what pans or tubs take are those of full ones, and a pan or tub takes them whole. */
export type Per = "piece" | "pan" | "tub";

export interface TaskSize {
  readonly minutes: number;
  readonly perPiece: number;
}

/** The start or end of a link, or a fixed minute. */
export type Edge = { readonly link: number; readonly at: "start" | "end" } | { readonly minute: number };

/** A need with its times: between these limits every plan has its start and end. */
export interface Use {
  readonly per: Per;
  readonly pool: number;
  readonly startFrom: number;
  readonly startTo: number;
  readonly endFrom: number;
  readonly endTo: number;
  /** Null: a stay of `leastMinutes` or more that takes perPiece. */
  readonly sizes: readonly TaskSize[] | null;
  readonly leastMinutes: number;
  readonly perPiece: number;
}

function overlap(start: number, end: number, from: number, to: number): number {
  return Math.max(0, Math.min(end, to) - Math.max(start, from));
}

/** The least amount-minutes that a piece takes within [from, to), wherever between its limits it lies. */
export function leastWithin(use: Use, from: number, to: number): number {
  if (use.endTo <= from || use.startFrom >= to) return 0;
  if (use.sizes) {
    let least = Number.POSITIVE_INFINITY;
    for (const { minutes, perPiece } of use.sizes) {
      // As the start slides the overlap rises, stays and falls: its least is at an end.
      const early = Math.max(use.startFrom, Math.min(use.endFrom - minutes, use.startTo));
      const late = Math.max(early, Math.min(use.startTo, use.endTo - minutes));
      const within = Math.min(overlap(early, early + minutes, from, to), overlap(late, late + minutes, from, to));
      least = Math.min(least, within * perPiece);
    }
    return least;
  }
  const { startFrom, startTo, endFrom, leastMinutes, perPiece } = use;
  // Until endFrom - least a later start is a shorter stay; after that the stay only slides.
  const turn = Math.min(startTo, Math.max(startFrom, endFrom - leastMinutes));
  const ending = (start: number): number => Math.max(endFrom, start + leastMinutes);
  const minutes = Math.min(overlap(turn, ending(turn), from, to), overlap(startTo, ending(startTo), from, to));
  return minutes * perPiece;
}
