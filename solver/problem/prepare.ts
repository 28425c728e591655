import type { Product, Route, Site, Step } from "../../schemas/index.js";
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

/** Of those with one key the last, where the first was. */
function unique(uses: readonly UseClass[]): UseClass[] {
  const byKey = new Map<string, UseClass>();
  for (const use of uses) byKey.set(use.key, use);
  return [...byKey.values()];
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

/** Pieces that are ordered, by product. */
function orderedPieces({ wants }: DayIndex): Map<string, number> {
  const ordered = new Map<string, number>();
  for (const { line } of wants) ordered.set(line.product, (ordered.get(line.product) ?? 0) + line.pieces);
  return ordered;
}

function addKind(kinds: Map<string, ContainerKind>, kind: ContainerKind): void {
  const known = kinds.get(kind.key);
  kinds.set(kind.key, {
    ...kind,
    itemHeightMm: Math.max(kind.itemHeightMm, known?.itemHeightMm ?? 0),
    itemMassG: Math.max(kind.itemMassG, known?.itemMassG ?? 0),
    demand: kind.demand + (known?.demand ?? 0),
  });
}

function stepNumber({ steps }: Route, does: Step["does"]): number {
  for (let i = 0; i < steps.length; i++) if (steps[i]!.does === does) return i;
  return -1;
}

/** Products of every order that some route retards in tubs or as pans. Without a demand the first route counts in full, others a little. */
function containerKinds(
  index: DayIndex,
  products: readonly Product[],
  ordered: ReadonlyMap<string, number>,
  site: Site,
  shelfDemand: ShelfDemand | undefined,
  ownWays: number,
): ContainerKind[] {
  const kinds = new Map<string, ContainerKind>();
  for (const product of products) addKinds(index, product, ordered.get(product.id) ?? 0, site, kinds);
  const found: ContainerKind[] = [];
  for (const kind of kinds.values()) {
    const asked = shelfDemand?.get(`${site.id} ${kind.key}`);
    const demand = (asked?.likely ?? 0) + ownWays * kind.demand;
    found.push(shelfDemand ? { ...kind, demand, least: asked?.least ?? 0 } : kind);
  }
  return found;
}

/** What so many pieces of a product stand in, by each of its routes. */
function addKinds(
  index: DayIndex,
  product: Product,
  pieces: number,
  site: Site,
  kinds: Map<string, ContainerKind>,
): void {
  const dough = index.doughs.get(product.dough)!;
  const panType = index.panTypes.get(product.panType)!;
  const perPan = Math.max(1, piecesPerPan(product, panType).count);
  for (let r = 0; r < product.routes.length; r++) {
    const route = product.routes[r]!;
    const retard = stepNumber(route, "retard");
    if (retard < 0) continue;
    const weight = r === 0 ? 1 : 0.15;
    if (retard > stepNumber(route, "shape")) {
      const itemMassG = panType.massG + perPan * product.pieceG;
      const itemHeightMm = panItemHeightMm(product, panType);
      const demand = weight * Math.ceil(pieces / perPan);
      const { id: type } = panType;
      addKind(kinds, { key: `pan ${type}`, kind: "pan", type, itemHeightMm, itemMassG, demand, least: 0 });
      continue;
    }
    if (dough.tubType === undefined) continue;
    const { id: type, massG, maxDoughG, heightMm: itemHeightMm } = index.tubTypes.get(dough.tubType)!;
    const fullG = Math.ceil(greatestTubG(index, dough, site)) || maxDoughG;
    const demand = weight * Math.ceil((pieces * product.pieceG) / fullG);
    const itemMassG = massG + Math.max(fullG, 1);
    addKind(kinds, { key: `tub ${type}`, kind: "tub", type, itemHeightMm, itemMassG, demand, least: 0 });
  }
}

function useOf(allergens: ReadonlySet<string>): UseClass {
  return { key: benchClassKey(allergens), allergens, lyePercent: 0 };
}

/** What is asked of every site's stations. */
function stationUse(index: DayIndex, products: readonly Product[]): Omit<SiteUse, "containers"> {
  const { catalogue } = index.day;
  const mixing: UseClass[] = [];
  const bench: UseClass[] = [];
  const kettle: UseClass[] = [];
  for (const product of products) {
    const allergens = allergensOfDough(catalogue, index.doughs.get(product.dough)!);
    mixing.push(useOf(allergens));
    bench.push(useOf(allergensOfProduct(catalogue, product)));
    for (const { steps } of product.routes)
      for (const step of steps) {
        if (step.does !== "boil") continue;
        const { lyePercent = 0 } = step;
        kettle.push({ key: kettleClassKey(allergens, lyePercent), allergens, lyePercent });
      }
  }
  return { mixing: unique(mixing), bench: unique(bench), kettle: unique(kettle), decks: deckClasses(index, products) };
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
  const ordered = orderedPieces(index);
  const use = stationUse(index, products);
  const book = new RowBook(index.horizon, mostRows(index, use));
  for (const site of index.day.network.sites) {
    const containers = containerKinds(index, products, ordered, site, shelfDemand, ownWays);
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
