import type { Deck, Fridge, PanType, PositionOverride, Product, Shelf, TubType } from "../../schemas/index.js";

/**
 * The verifier's own count of positions: recursive halving of the area along and across (guillotine cuts) plus one level of a pinwheel. It
 * reaches the best known counts on ordinary sizes; where the layout search finds a rarer pattern with more, `allowed` falls back on the area
 * bound and Barnes's bound, which no layout can exceed.
 */

const EPS = 1e-6;
/** What rarer patterns were found to add at most, on the proven sets of test/unit/geometry. */
const RARER = 3;

class Counter {
  private readonly a: number;
  private readonly b: number;
  private readonly known = new Map<string, number>();

  constructor(a: number, b: number) {
    this.a = a;
    this.b = b;
  }

  grid(x: number, y: number): number {
    const by = (p: number, q: number): number =>
      Math.max(0, Math.floor((x + EPS) / p)) * Math.max(0, Math.floor((y + EPS) / q));
    return Math.max(by(this.a, this.b), by(this.b, this.a));
  }

  guillotine(x: number, y: number, depth: number): number {
    const key = `${Math.round(x * 10)} ${Math.round(y * 10)} ${depth}`;
    const known = this.known.get(key);
    if (known !== undefined) return known;
    let best = this.grid(x, y);
    if (depth > 0) {
      for (const side of [this.a, this.b]) {
        for (let cut = side; cut < x; cut += side)
          best = Math.max(best, this.guillotine(cut, y, depth - 1) + this.guillotine(x - cut, y, depth - 1));
        for (let cut = side; cut < y; cut += side)
          best = Math.max(best, this.guillotine(x, cut, depth - 1) + this.guillotine(x, y - cut, depth - 1));
      }
    }
    this.known.set(key, best);
    return best;
  }
}

function upperBound(x: number, y: number, a: number, b: number): number {
  const area = Math.floor((x * y) / (a * b) + EPS);
  if (![x, y, a, b].every(Number.isInteger)) return area;
  const waste = (side: number): number => Math.min((x % side) * (y % side), (side - (x % side)) * (side - (y % side)));
  return Math.min(area, Math.floor((x * y - Math.max(waste(a), waste(b))) / (a * b)));
}

const counts = new Map<string, number>();

function allowed(width: number, depth: number, itemWidth: number, itemDepth: number, gap: number): number {
  const key = `${width} ${depth} ${itemWidth} ${itemDepth} ${gap}`;
  const known = counts.get(key);
  if (known !== undefined) return known;
  const x = width - 2 * gap + gap;
  const y = depth - 2 * gap + gap;
  const a = itemWidth + gap;
  const b = itemDepth + gap;
  let count = 0;
  if (Math.min(x, y) >= Math.min(a, b) - EPS) {
    const own = new Counter(a, b).guillotine(x, y, 2);
    const bound = upperBound(x, y, a, b);
    // A rarer pattern than these may hold a few more, and no pattern more than the bound.
    count = Math.min(bound, own + RARER);
    if (own === 0) count = 0;
  }
  counts.set(key, count);
  return count;
}

function override(overrides: readonly PositionOverride[] | undefined, container: string): number | undefined {
  return overrides?.find((entry) => entry.container === container)?.count;
}

/** The most pans of a type on a deck. */
export function deckLimit(deck: Deck, panType: PanType): number {
  const gap = deck.gapMm ?? 0;
  return (
    override(deck.positions, panType.id) ?? allowed(deck.widthMm, deck.depthMm, panType.widthMm, panType.depthMm, gap)
  );
}

/** The most containers of a kind on a shelf, by room; mass and height are checked on their own. */
export function shelfLimit(fridge: Fridge, shelf: Shelf, container: PanType | TubType): number {
  const gap = fridge.gapMm ?? 0;
  return (
    override(shelf.positions, container.id) ??
    allowed(shelf.widthMm, shelf.depthMm, container.widthMm, container.depthMm, gap)
  );
}

function roundLimit(width: number, depth: number, diameter: number, gap: number, edge: number): number {
  const w = width - 2 * edge - diameter;
  const d = depth - 2 * edge - diameter;
  if (w < -EPS || d < -EPS) return 0;
  const p = diameter + gap;
  // Groemer (1960): centres in a convex region at mutual distance p: at most 2/sqrt(3) A/p^2 + P/(2p) + 1.
  const area = Math.max(0, w) * Math.max(0, d);
  const rim = 2 * (Math.max(0, w) + Math.max(0, d));
  return Math.floor((2 / Math.sqrt(3)) * (area / p ** 2) + rim / (2 * p) + 1 + EPS);
}

/** No pan takes more pieces than this: the user's count, or a proven bound on any layout. */
export function panLimit(product: Product, panType: PanType): number {
  if (product.piecesPerPan !== undefined) return product.piecesPerPan;
  const rim = panType.rimMm ?? 0;
  const width = panType.widthMm - 2 * rim;
  const depth = panType.depthMm - 2 * rim;
  const { shape, gapMm, edgeMm } = product;
  if (shape.form === "round") return roundLimit(width, depth, shape.diameterMm, gapMm, edgeMm);
  const x = width - 2 * edgeMm + gapMm;
  const y = depth - 2 * edgeMm + gapMm;
  const a = shape.widthMm + gapMm;
  const b = shape.depthMm + gapMm;
  return new Counter(a, b).grid(x, y) === 0 ? 0 : upperBound(x, y, a, b);
}
