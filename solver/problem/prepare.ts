import type { Product, Site } from "../../schemas/index.js";
import { panItemHeightMm, piecesPerPan } from "../geometry/index.js";
import { allergensOfDough, allergensOfProduct } from "../trade/dough.js";
import type { UseClass } from "./class-rows.js";
import { greatestTubG } from "./containers.js";
import type { DayIndex } from "./day-index.js";
import type { ModeRequest } from "./modes.js";
import { RowBook } from "./row-book.js";
import { type ContainerKind, type DeckClass, MILLS, type SiteRows, type SiteUse, siteRows } from "./site-rows.js";
import { benchClassKey, kettleClassKey } from "./uses.js";

/** The rows of all sites and trips, before anything is known of loads. */
export interface Prepared {
  readonly index: DayIndex;
  readonly book: RowBook;
  readonly request: ModeRequest;
  readonly trips: readonly { readonly row: number; readonly cost: number }[];
}

function unique<T>(items: readonly T[], key: (item: T) => string): T[] {
  return [...new Map(items.map((item) => [key(item), item])).values()];
}

function orderedProducts(index: DayIndex): Product[] {
  const ids = new Set(index.wants.map((want) => want.line.product));
  for (const { product } of index.day.inForce?.loads ?? []) if (index.products.has(product)) ids.add(product);
  return [...ids].map((id) => index.products.get(id)!);
}

function deckClasses(index: DayIndex, products: readonly Product[]): DeckClass[] {
  const classes = new Map<string, DeckClass>();
  for (const product of products) {
    const itemHeightMm = panItemHeightMm(product, index.panTypes.get(product.panType)!);
    for (const route of product.routes) {
      for (const step of route.steps) {
        if (step.does !== "bake") continue;
        const key = `${step.tempC} ${product.panType}`;
        const known = classes.get(key)?.itemHeightMm ?? 0;
        classes.set(key, { tempC: step.tempC, panType: product.panType, itemHeightMm: Math.max(known, itemHeightMm) });
      }
    }
  }
  return [...classes.values()];
}

/** Containers that are to stand in a site's fridges at once, by site and kind: as many as are likely, and as cannot do without. */
export type ShelfDemand = ReadonlyMap<string, { readonly likely: number; readonly least: number }>;

/** The search goes its own ways: what every product asks by its first route counts so many times what the flows ask. */
const OWN_WAYS = 2;

/** Products of every order that some route retards in tubs or as pans. Without a demand the first route counts in full, others a little. */
function containerKinds(
  index: DayIndex,
  products: readonly Product[],
  site: Site,
  shelfDemand: ShelfDemand | undefined,
  ownWays: number,
): ContainerKind[] {
  const kinds = new Map<string, ContainerKind>();
  const ordered = new Map<string, number>();
  for (const { line } of index.wants) ordered.set(line.product, (ordered.get(line.product) ?? 0) + line.pieces);
  const add = (kind: ContainerKind): void => {
    const known = kinds.get(kind.key);
    kinds.set(kind.key, {
      ...kind,
      itemHeightMm: Math.max(kind.itemHeightMm, known?.itemHeightMm ?? 0),
      itemMassG: Math.max(kind.itemMassG, known?.itemMassG ?? 0),
      demand: kind.demand + (known?.demand ?? 0),
    });
  };
  for (const product of products) {
    const dough = index.doughs.get(product.dough)!;
    const panType = index.panTypes.get(product.panType)!;
    const perPan = Math.max(1, piecesPerPan(product, panType).count);
    const pieces = ordered.get(product.id) ?? 0;
    product.routes.forEach((route, r) => {
      const retard = route.steps.findIndex((step) => step.does === "retard");
      if (retard < 0) return;
      const weight = r === 0 ? 1 : 0.15;
      if (retard > route.steps.findIndex((step) => step.does === "shape")) {
        const itemMassG = panType.massG + perPan * product.pieceG;
        const itemHeightMm = panItemHeightMm(product, panType);
        const demand = weight * Math.ceil(pieces / perPan);
        add({ key: `pan ${panType.id}`, kind: "pan", type: panType.id, itemHeightMm, itemMassG, demand, least: 0 });
        return;
      }
      if (dough.tubType === undefined) return;
      const tubType = index.tubTypes.get(dough.tubType)!;
      const fullG = Math.ceil(greatestTubG(index, dough, site)) || tubType.maxDoughG;
      const demand = weight * Math.ceil((pieces * product.pieceG) / fullG);
      const itemMassG = tubType.massG + Math.max(fullG, 1);
      add({
        key: `tub ${tubType.id}`,
        kind: "tub",
        type: tubType.id,
        itemHeightMm: tubType.heightMm,
        itemMassG,
        demand,
        least: 0,
      });
    });
  }
  if (!shelfDemand) return [...kinds.values()];
  return [...kinds.values()].map((kind) => ({
    ...kind,
    demand: (shelfDemand.get(`${site.id} ${kind.key}`)?.likely ?? 0) + ownWays * kind.demand,
    least: shelfDemand.get(`${site.id} ${kind.key}`)?.least ?? 0,
  }));
}

/** What is asked of every site's stations. */
function stationUse(index: DayIndex, products: readonly Product[]): Omit<SiteUse, "containers"> {
  const { catalogue } = index.day;
  const doughUse = (product: Product): UseClass => {
    const allergens = allergensOfDough(catalogue, index.doughs.get(product.dough)!);
    return { key: benchClassKey(allergens), allergens, lyePercent: 0 };
  };
  const benchUse = (product: Product): UseClass => {
    const allergens = allergensOfProduct(catalogue, product);
    return { key: benchClassKey(allergens), allergens, lyePercent: 0 };
  };
  const kettleUses = products.flatMap((product) =>
    product.routes.flatMap((route) =>
      route.steps.flatMap((step): UseClass[] => {
        if (step.does !== "boil") return [];
        const { allergens } = doughUse(product);
        const lyePercent = step.lyePercent ?? 0;
        return [{ key: kettleClassKey(allergens, lyePercent), allergens, lyePercent }];
      }),
    ),
  );
  return {
    mixing: unique(products.map(doughUse), (use) => use.key),
    bench: unique(products.map(benchUse), (use) => use.key),
    kettle: unique(kettleUses, (use) => use.key),
    decks: deckClasses(index, products),
  };
}

/** Rows of all sites, or somewhat more: decks that do not reach a setpoint have none for it. */
function mostRows({ day, trips }: DayIndex, use: Omit<SiteUse, "containers">): number {
  let most = trips.length + SPARE_ROWS;
  // A unit that is never cleaned has one row for all classes.
  const ofUnits = (units: readonly { cleaningMinutes?: number }[], classes: readonly UseClass[]): void => {
    for (const { cleaningMinutes = 0 } of units) most += cleaningMinutes > 0 ? classes.length : 1;
  };
  for (const { mixers, benches, kettles, ovens, fridges, proofers, racks, crew, pans, tubs } of day.network.sites) {
    ofUnits(mixers, use.mixing);
    ofUnits(benches, use.bench);
    ofUnits(kettles, use.kettle);
    for (const { decks } of ovens)
      for (const { maxTempC } of decks) most += use.decks.filter(({ tempC }) => tempC <= maxTempC).length;
    most += fridges.length * (1 + day.network.panTypes.length + day.network.tubTypes.length);
    most += proofers.length + racks.length + crew.length + pans.length + tubs.length;
  }
  return most;
}

/** For a repair's own row, and shelves in parts. */
const SPARE_ROWS = 8;

/** Lays out every row that a day's loads can use. */
export function prepare(index: DayIndex, shelfDemand?: ShelfDemand, ownWays = OWN_WAYS): Prepared {
  const rows = new Map<string, SiteRows>();
  const products = orderedProducts(index);
  const use = stationUse(index, products);
  const book = new RowBook(index.horizon, mostRows(index, use));
  for (const site of index.day.network.sites) {
    const containers = containerKinds(index, products, site, shelfDemand, ownWays);
    rows.set(site.id, siteRows(index, book, site, { ...use, containers }));
  }
  const trips = index.trips.map(({ run }) => ({
    row: book.add({ kind: "van", site: run.from }, run.positions),
    cost: Math.round(run.cost * MILLS),
  }));
  const request: ModeRequest = {
    index,
    rows,
    trips: new Map(index.trips.map((trip, number) => [trip.id, { number, row: trips[number]!.row }])),
    siteNumbers: new Map(index.day.network.sites.map((site, number) => [site.id, number])),
  };
  return { index, book, request, trips };
}
