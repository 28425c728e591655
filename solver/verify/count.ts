import type { Deck, Fridge, PanType, PositionOverride, Product, Shelf, TubType } from "../../schemas/index.js";
import { mostRectangles, mostRounds } from "./most.js";

const counts = new Map<string, number>();

/** Counts depend on six numbers only and are asked for at every load. */
function remembered(form: string, measures: readonly number[], count: () => number): number {
  const key = `${form} ${measures.join(" ")}`;
  let known = counts.get(key);
  if (known === undefined) {
    known = count();
    counts.set(key, known);
  }
  return known;
}

function rectangles(...measures: [number, number, number, number, number, number]): number {
  return remembered("rectangles", measures, () => mostRectangles(...measures));
}

function override(overrides: readonly PositionOverride[] | undefined, container: string): number | undefined {
  return overrides?.find((entry) => entry.container === container)?.count;
}

/** What was counted last, kept with what it was counted of: it is asked for at every load. */
interface Counted {
  readonly panType: PanType;
  readonly count: number;
}

const onDecks = new WeakMap<Deck, Counted>();
const onPans = new WeakMap<Product, Counted>();

/** The most pans of a type on a deck: the user's count, or as many as fit. */
export function deckLimit(deck: Deck, panType: PanType): number {
  let known = onDecks.get(deck);
  if (known?.panType !== panType) {
    known = { panType, count: countOnDeck(deck, panType) };
    onDecks.set(deck, known);
  }
  return known.count;
}

function countOnDeck(deck: Deck, panType: PanType): number {
  const gap = deck.gapMm ?? 0;
  return (
    override(deck.positions, panType.id) ??
    rectangles(deck.widthMm, deck.depthMm, panType.widthMm, panType.depthMm, gap, gap)
  );
}

/** The most containers of a kind on a shelf, by room; mass and height are checked on their own. */
export function shelfLimit(fridge: Fridge, shelf: Shelf, container: PanType | TubType): number {
  const gap = fridge.gapMm ?? 0;
  return (
    override(shelf.positions, container.id) ??
    rectangles(shelf.widthMm, shelf.depthMm, container.widthMm, container.depthMm, gap, gap)
  );
}

/** The most pieces of a product on a pan: the user's count, or as many as fit. */
export function panLimit(product: Product, panType: PanType): number {
  let known = onPans.get(product);
  if (known?.panType !== panType) {
    known = { panType, count: countOnPan(product, panType) };
    onPans.set(product, known);
  }
  return known.count;
}

function countOnPan(product: Product, panType: PanType): number {
  if (product.piecesPerPan !== undefined) return product.piecesPerPan;
  const rim = panType.rimMm ?? 0;
  const width = panType.widthMm - 2 * rim;
  const depth = panType.depthMm - 2 * rim;
  const { shape, gapMm, edgeMm } = product;
  if (shape.form === "rectangular") return rectangles(width, depth, shape.widthMm, shape.depthMm, gapMm, edgeMm);
  return remembered("rounds", [width, depth, shape.diameterMm, gapMm, edgeMm], () =>
    mostRounds(width, depth, shape.diameterMm, gapMm, edgeMm),
  );
}
