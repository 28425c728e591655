import type { Fridge, Shelf, Site } from "../../schemas/index.js";
import { panItemHeightMm } from "../geometry/index.js";
import type { DayIndex } from "../problem/day-index.js";
import { shelfLimit } from "../verify/count.js";
import type { PoolBook } from "./pools.js";
import { retardsIn } from "./ways.js";

/** A container kind and how many of a reference kind one of it stands for, by pool. */
export interface ShelfShare {
  readonly pool: number;
  readonly each: number;
}

/** Shelf positions of the kitchens as pools, whatever kinds of container share the shelves. */
export class ShelfPools {
  private readonly index: DayIndex;
  private readonly book: PoolBook;
  private readonly shelfShares = new Map<string, readonly ShelfShare[]>();
  /** By pan type: the least height that one of what is ordered needs. */
  private readonly lowestMm = new Map<string, number>();

  constructor(index: DayIndex, book: PoolBook) {
    this.index = index;
    this.book = book;
    for (const { line } of index.wants) {
      const product = index.products.get(line.product)!;
      const panType = index.panTypes.get(product.panType)!;
      const lowest = this.lowestMm.get(panType.id) ?? Number.POSITIVE_INFINITY;
      this.lowestMm.set(panType.id, Math.min(lowest, panItemHeightMm(product, panType)));
    }
  }

  /** Containers of a kind on one shelf, when nothing else stands there. */
  private onShelf(fridge: Fridge, shelf: Shelf, kind: string): number {
    const [what, id] = kind.split(" ") as ["tub" | "pan", string];
    if (what === "tub") {
      const tubType = this.index.tubTypes.get(id)!;
      return tubType.heightMm > shelf.clearHeightMm ? 0 : shelfLimit(fridge, shelf, tubType);
    }
    return (this.lowestMm.get(id) ?? 0) > shelf.clearHeightMm
      ? 0
      : shelfLimit(fridge, shelf, this.index.panTypes.get(id)!);
  }

  /** Kinds of container that anything ordered stands in. */
  private containerKinds(): string[] {
    const kinds = new Set<string>();
    for (const want of this.index.wants) {
      const product = this.index.products.get(want.line.product)!;
      const { tubType } = this.index.doughs.get(product.dough)!;
      for (const route of product.routes) {
        const where = retardsIn(route);
        if (where === "pans") kinds.add(`pan ${product.panType}`);
        if (where === "tubs" && tubType !== undefined) kinds.add(`tub ${tubType}`);
      }
    }
    return [...kinds].sort();
  }

  /**
   * Pools of shelf positions of a site that a container of a kind takes from. A shelf holds one kind at a time, so for any weights the weighted
   * containers on it never exceed the most that one kind alone would weigh there. Weights: the kind alone; and, for each sort of shelf, each
   * kind by what it fills of such a shelf.
   */
  of(site: Site, kind: string): readonly ShelfShare[] {
    const key = `${site.id} ${kind}`;
    const known = this.shelfShares.get(key);
    if (known) return known;
    const kinds = this.containerKinds();
    const shelves = site.fridges.flatMap((fridge) =>
      fridge.shelves.map((shelf) => ({
        unit: `${site.id}/${fridge.id}/${shelf.id}`,
        counts: kinds.map((own) => this.onShelf(fridge, shelf, own)),
      })),
    );
    const pool = (name: string, weights: readonly number[]): number =>
      this.book.get("fridge-positions", site.id, name, () =>
        this.book.unitLine(
          shelves.map(({ unit, counts }) => ({
            unit,
            amount: Math.max(0, ...counts.map((count, k) => count * weights[k]!)),
          })),
        ),
      );
    const sorts = new Map(shelves.map(({ counts }) => [counts.join(" "), counts]));
    const shares = kinds.map((): ShelfShare[] => []);
    kinds.forEach((own, k) => {
      shares[k]!.push({
        pool: pool(
          own,
          kinds.map((_, i) => (i === k ? 1 : 0)),
        ),
        each: 1,
      });
    });
    for (const counts of sorts.values()) {
      if (counts.filter((count) => count > 0).length < 2) continue;
      const reference = counts.find((count) => count > 0)!;
      const weights = counts.map((count) => (count > 0 ? reference / count : 0));
      const number = pool(`any kind ${counts.join(" ")}`, weights);
      kinds.forEach((_, k) => {
        if (weights[k]! > 0) shares[k]!.push({ pool: number, each: weights[k]! });
      });
    }
    kinds.forEach((own, k) => {
      const fits = shelves.some(({ counts }) => counts[k]! > 0);
      this.shelfShares.set(`${site.id} ${own}`, fits ? shares[k]! : []);
    });
    return this.shelfShares.get(key) ?? [];
  }
}
