import type { Deck, Fridge, PanType, PositionOverride, Product, Shelf, TubType } from "../../schemas/index.js";
import { EMPTY, type Layout } from "./layout.js";
import { layoutRectangles } from "./rectangles.js";
import { layoutRounds } from "./rounds.js";

export { type Layout, MOST_PLACES, type Place } from "./layout.js";
export { layoutRectangles } from "./rectangles.js";
export { layoutRounds } from "./rounds.js";

/** How many there are, who says so, and where they lie (null when the user's own count exceeds what geometry shows). */
export interface Positions {
  readonly count: number;
  readonly source: "override" | "geometry";
  readonly layout: Layout | null;
}

/** What stands in a fridge. */
export type Container =
  | { readonly kind: "pan"; readonly panType: PanType; readonly itemHeightMm: number; readonly itemMassG: number }
  | { readonly kind: "tub"; readonly tubType: TubType; readonly itemMassG: number };

const known = new Map<string, Layout>();

/** Layouts depend on six numbers only and are asked for again and again. */
function remembered(key: string, make: () => Layout): Layout {
  let layout = known.get(key);
  if (!layout) {
    if (known.size > 5000) known.clear();
    layout = make();
    known.set(key, layout);
  }
  return layout;
}

function rectangles(w: number, d: number, a: number, b: number, gap: number, edge: number): Layout {
  return remembered(`r ${w} ${d} ${a} ${b} ${gap} ${edge}`, () => layoutRectangles(w, d, a, b, gap, edge));
}

function counted(layout: Layout, own: number | undefined): Positions {
  if (own === undefined) return { count: layout.count, source: "geometry", layout };
  return {
    count: own,
    source: "override",
    layout: own <= layout.count ? { ...layout, count: own, places: layout.places.slice(0, own) } : null,
  };
}

function overrideFor(overrides: readonly PositionOverride[] | undefined, container: string): number | undefined {
  return overrides?.find((entry) => entry.container === container)?.count;
}

/** Pieces of a product on a pan: the user's count, else the better layout on the flat inside of the pan. */
export function piecesPerPan(product: Product, panType: PanType): Positions {
  const rim = panType.rimMm ?? 0;
  const width = panType.widthMm - 2 * rim;
  const depth = panType.depthMm - 2 * rim;
  const { shape, gapMm, edgeMm } = product;
  const layout =
    shape.form === "round"
      ? remembered(`c ${width} ${depth} ${shape.diameterMm} ${gapMm} ${edgeMm}`, () =>
          layoutRounds(width, depth, shape.diameterMm, gapMm, edgeMm),
        )
      : rectangles(width, depth, shape.widthMm, shape.depthMm, gapMm, edgeMm);
  return counted(layout, product.piecesPerPan);
}

/** Height of a pan with the product on it (D9), mm. */
export function panItemHeightMm(product: Product, panType: PanType): number {
  return Math.max(panType.heightMm, product.heightMm);
}

/** Pans of a type on a deck; none when the item is higher than the deck. */
export function positionsOnDeck(deck: Deck, panType: PanType, itemHeightMm: number): Positions {
  if (itemHeightMm > deck.clearHeightMm) return { count: 0, source: "geometry", layout: EMPTY };
  const gap = deck.gapMm ?? 0;
  const layout = rectangles(deck.widthMm, deck.depthMm, panType.widthMm, panType.depthMm, gap, gap);
  return counted(layout, overrideFor(deck.positions, panType.id));
}

/** Containers on a shelf: by geometry (or the user's count), and no more than the shelf bears. */
export function positionsOnShelf(fridge: Fridge, shelf: Shelf, container: Container): Positions {
  const type = container.kind === "pan" ? container.panType : container.tubType;
  const heightMm = container.kind === "pan" ? container.itemHeightMm : container.tubType.heightMm;
  if (heightMm > shelf.clearHeightMm) return { count: 0, source: "geometry", layout: EMPTY };
  const gap = fridge.gapMm ?? 0;
  const layout = rectangles(shelf.widthMm, shelf.depthMm, type.widthMm, type.depthMm, gap, gap);
  const positions = counted(layout, overrideFor(shelf.positions, type.id));
  const borne = Math.floor(shelf.maxMassG / container.itemMassG + 1e-9);
  return borne >= positions.count ? positions : { ...positions, count: borne };
}
