import type { Catalogue, OrderLine, PanType, Product } from "../../../schemas/index.js";
import { piecesPerPan } from "../../../solver/geometry/index.js";
import type { Rng } from "../../../solver/rng.js";

export const PANS_PER_LOAD = 4;

/** When a site's customers want their goods: minutes from midnight. Rounds lie further apart than lines share a load. */
interface Round {
  readonly customer: string;
  readonly from: number;
  readonly spread: number;
  readonly weight: number;
  readonly priority: number;
}

export const COMMISSARY_ROUNDS: readonly Round[] = [
  { customer: "Early round", from: 345, spread: 30, weight: 35, priority: 2 },
  { customer: "Second round", from: 435, spread: 30, weight: 40, priority: 1 },
  { customer: "Yard counter", from: 555, spread: 45, weight: 25, priority: 1 },
];
export const SHOP_ROUNDS: readonly Round[] = [
  { customer: "Opening", from: 390, spread: 30, weight: 45, priority: 1.5 },
  { customer: "Forenoon", from: 495, spread: 30, weight: 35, priority: 1 },
  { customer: "Lunch", from: 645, spread: 45, weight: 20, priority: 1 },
];

/** What one site wants of one product by one round. */
export interface Wanted {
  readonly site: string;
  readonly product: Product;
  /** Minutes from midnight. */
  readonly due: number;
  pieces: number;
  readonly perPan: number;
}

export function pansOf(wanted: Wanted): number {
  return Math.ceil(wanted.pieces / wanted.perPan);
}

function loadsOf(wanted: Wanted): number {
  return Math.ceil(wanted.pieces / (wanted.perPan * PANS_PER_LOAD));
}

export interface Demand {
  readonly lines: readonly OrderLine[];
  readonly wanted: readonly Wanted[];
}

function clock(minute: number): string {
  const two = (n: number): string => String(n).padStart(2, "0");
  return `${two(Math.floor(minute / 60))}:${two(minute % 60)}`;
}

/** One of the items, by weight. */
function byWeight<T extends { readonly weight: number }>(rng: Rng, items: readonly T[]): T {
  let ticket = rng.below(items.reduce((sum, { weight }) => sum + weight, 0));
  for (const item of items) {
    ticket -= item.weight;
    if (ticket < 0) return item;
  }
  return items[0]!;
}

/** Draws order lines until they come to `loads` loads of at most PANS_PER_LOAD pans. */
export function drawDemand(
  rng: Rng,
  loads: number,
  date: string,
  catalogue: Catalogue,
  panTypes: readonly PanType[],
  sites: readonly { readonly id: string; readonly isShop: boolean; readonly weight: number }[],
): Demand {
  const popular = catalogue.products.map((product) => ({ product, weight: 2 + rng.below(9) }));
  const groups = new Map<string, Wanted>();
  const lines: OrderLine[] = [];
  let count = 0;
  while (count < loads) {
    const site = byWeight(rng, sites);
    const round = byWeight(rng, site.isShop ? SHOP_ROUNDS : COMMISSARY_ROUNDS);
    const { product } = byWeight(rng, popular);
    const due = round.from + 5 * rng.below(round.spread / 5 + 1);
    const key = `${site.id} ${product.id} ${round.from}`;
    const perPan = piecesPerPan(product, panTypes.find((type) => type.id === product.panType)!).count;
    const group = groups.get(key) ?? { site: site.id, product, due: round.from, pieces: 0, perPan };
    groups.set(key, group);
    const before = loadsOf(group);
    // Most lines are some pans; a few are a handful of pieces.
    const pans = rng.below(6) === 0 ? 0.3 + rng.unit() * 0.5 : 0.8 + rng.unit() * 4.2;
    const pieces = Math.max(2, Math.round(perPan * pans));
    group.pieces += pieces;
    count += loadsOf(group) - before;
    lines.push({
      id: `line-${lines.length + 1}`,
      product: product.id,
      pieces,
      site: site.id,
      due: `${date}T${clock(due)}`,
      priority: round.priority,
      customer: round.customer,
    });
  }
  return { lines, wanted: [...groups.values()] };
}
