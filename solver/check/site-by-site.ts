import type { DayDocuments, Deck, Dough, Mixer, PanType, Product, Route, Site, VanRun } from "../../schemas/index.js";
import { panItemHeightMm, piecesPerPan, positionsOnDeck, positionsOnShelf } from "../geometry/index.js";
import { tubLimitG } from "../problem/containers.js";
import { leastBatchG, mixerLimitG } from "../trade/dough.js";
import { limitOf } from "../trade/holding.js";
import { piecesPerDip } from "../trade/kettle.js";

/** What each site lacks to make a product, in words that follow the site's name: "no kettle", "no van run from there to Quay shop". */

/** Parts of a route that belong to one site: before a chilled hand-over, after it, or all. */
type Part = "all" | "before" | "after";

/** What a site lacks to make a product, on the route of which it lacks least; none: it can. */
export interface AtSite {
  readonly site: Site;
  readonly lacks: readonly string[];
}

function isTubRoute(route: Route): boolean {
  const retard = route.steps.findIndex((step) => step.does === "retard");
  return retard >= 0 && retard < route.steps.findIndex((step) => step.does === "shape");
}

const kg = (massG: number): string => `${Number((massG / 1000).toFixed(1))} kg`;

function lacksMixer(mixers: readonly Mixer[], dough: Dough): string[] {
  if (mixers.length === 0) return ["no mixer"];
  const fitting = mixers.filter((mixer) => mixerLimitG(mixer, dough.absorptionPercent) !== null);
  if (fitting.length === 0) return [`no mixer for so stiff a dough (${dough.absorptionPercent} % absorption)`];
  const sizes = fitting.map((mixer) => ({
    most: mixerLimitG(mixer, dough.absorptionPercent)!,
    least: leastBatchG(mixer, dough),
  }));
  if (sizes.some(({ most, least }) => most >= least)) return [];
  const { most, least } = sizes.reduce((best, one) => (one.least - one.most < best.least - best.most ? one : best));
  return [
    `no mixer large enough for a batch (${kg(least)} at least, ${kg(most)} at most at ${dough.absorptionPercent} % absorption)`,
  ];
}

function lacksDeck(decks: readonly Deck[], tempC: number, panType: PanType, heightMm: number): string[] {
  if (decks.length === 0) return ["no oven"];
  const hot = decks.filter((deck) => deck.maxTempC >= tempC);
  if (hot.length === 0)
    return [`no deck that reaches ${tempC} C (the hottest ${Math.max(...decks.map((deck) => deck.maxTempC))} C)`];
  if (hot.some((deck) => positionsOnDeck(deck, panType, heightMm).count > 0)) return [];
  return [
    `no deck of ${tempC} C that takes the pan ${panType.name} (${panType.widthMm} x ${panType.depthMm} mm, ${Math.ceil(heightMm)} mm high)`,
  ];
}

function lacksKettle(site: Site, product: Product): string[] {
  if (site.kettles.length === 0) return ["no kettle"];
  return site.kettles.some((kettle) => piecesPerDip(kettle, product) !== null)
    ? []
    : ["no kettle for pieces of this size"];
}

/** What a site lacks for a part of a route, in words. */
function lacks(day: DayDocuments, site: Site, product: Product, dough: Dough, route: Route, part: Part): string[] {
  const found: string[] = [];
  const panType = day.network.panTypes.find((type) => type.id === product.panType);
  if (!panType) return ["no such pan type"];
  const hasSkill = (skill: string | undefined): boolean =>
    skill === undefined || site.crew.some((group) => group.skills.includes(skill));
  const retard = route.steps.findIndex((step) => step.does === "retard");
  if (part !== "after") {
    found.push(...lacksMixer(site.mixers, dough));
    if ((dough.mixHeads ?? 1) > 0 && !hasSkill(dough.mixSkill)) found.push(`nobody with the skill ${dough.mixSkill}`);
  }
  route.steps.forEach((step, i) => {
    if (part === "before" && i > retard) return;
    if (part === "after" && i < retard) return;
    if ("skill" in step && !hasSkill(step.skill)) found.push(`nobody with the skill ${step.skill}`);
    if (step.does === "shape" || step.does === "top" || step.does === "pack") {
      if (!site.benches.some((bench) => bench.places >= step.heads))
        found.push(site.benches.length === 0 ? "no bench" : `no bench for ${step.heads} people`);
      if (step.does === "shape" && !site.pans.some((stock) => stock.panType === panType.id && stock.count > 0))
        found.push(`no pans of the kind ${panType.name}`);
    }
    if (
      step.does === "proof" &&
      !site.proofers.some((proofer) => step.tempC === undefined || step.tempC === proofer.tempC)
    )
      found.push(`no proofer${step.tempC === undefined || site.proofers.length === 0 ? "" : ` at ${step.tempC} C`}`);
    if (step.does === "boil") found.push(...lacksKettle(site, product));
    if (step.does === "bake") {
      const decks = site.ovens.flatMap((oven) => oven.decks);
      found.push(...lacksDeck(decks, step.tempC, panType, panItemHeightMm(product, panType)));
    }
    if (step.does === "cool" && site.racks.length === 0) found.push("no rack");
    if (step.does === "retard") found.push(...lacksFridge(day, site, product, dough, route, part));
  });
  return [...new Set(found)];
}

function lacksFridge(
  day: DayDocuments,
  site: Site,
  product: Product,
  dough: Dough,
  route: Route,
  part: Part,
): string[] {
  const panType = day.network.panTypes.find((type) => type.id === product.panType)!;
  const { coldAtMostC = Number.POSITIVE_INFINITY } = limitOf(day.settings, dough);
  const fridges = site.fridges.filter((fridge) => fridge.airTempC <= coldAtMostC);
  if (site.fridges.length === 0) return ["no fridge"];
  if (fridges.length === 0) return [`no fridge at ${coldAtMostC} C or below`];
  if (!isTubRoute(route)) {
    const pieces = Math.max(1, piecesPerPan(product, panType).count);
    const container = {
      kind: "pan" as const,
      panType,
      itemHeightMm: panItemHeightMm(product, panType),
      itemMassG: panType.massG + pieces * product.pieceG,
    };
    const fits = fridges.some((fridge) =>
      fridge.shelves.some((shelf) => positionsOnShelf(fridge, shelf, container).count > 0),
    );
    return fits ? [] : [`no fridge shelf for the pan ${panType.name}`];
  }
  const tubType = day.network.tubTypes.find((type) => type.id === dough.tubType);
  if (!tubType) return [];
  const wanting: string[] = [];
  if (part !== "after" && !site.tubs.some((stock) => stock.tubType === tubType.id && stock.count > 0))
    wanting.push(`no tubs of the kind ${tubType.name}`);
  const fits = fridges.some((fridge) => {
    const massG = part === "after" ? 1 : tubLimitG(tubType, dough, fridge);
    return (
      massG > 0 &&
      fridge.shelves.some(
        (shelf) =>
          positionsOnShelf(fridge, shelf, { kind: "tub", tubType, itemMassG: tubType.massG + massG }).count > 0,
      )
    );
  });
  if (!fits) wanting.push(`no fridge shelf for the tub ${tubType.name} that chills the dough in time`);
  return wanting;
}

/** What it lacks to be made at a site and come to another by van; one list for each way that its routes allow. */
function byVan(
  day: DayDocuments,
  product: Product,
  dough: Dough,
  from: Site,
  to: Site,
  runs: readonly VanRun[],
  madeAt: string | undefined,
): string[][] {
  if (runs.length === 0) return [[`no van run from there to ${to.name}`]];
  const tries: string[][] = [];
  // Baked first: of two ways that lack as much, the one that is all there.
  for (const route of product.routes)
    for (const handOver of (route.handOvers ?? []).toSorted((a, b) => Number(b === "baked") - Number(a === "baked"))) {
      if (handOver === "baked") {
        if (madeAt === undefined || madeAt === from.id) tries.push(lacks(day, from, product, dough, route, "all"));
      } else if (madeAt === undefined || madeAt === to.id)
        tries.push([
          ...lacks(day, from, product, dough, route, "before"),
          ...lacks(day, to, product, dough, route, "after").map((what) => `${what} at ${to.name}`),
        ]);
    }
  return tries.length > 0 ? tries : [["no route of the product that may go on by van from there"]];
}

/**
 * What each site lacks to make a product for a site, in the network's order. A site to which the order is fixed is the only one that is asked, but for those that may
 * mix for it. The sites and documents must be known to exist.
 */
export function atEachSite(
  day: DayDocuments,
  product: Product,
  dough: Dough,
  siteId: string,
  madeAt: string | undefined,
): AtSite[] {
  const to = day.network.sites.find(({ id }) => id === siteId)!;
  return day.network.sites.flatMap((site): AtSite[] => {
    const tries: string[][] = [];
    if (site === to) {
      if (madeAt === undefined || madeAt === siteId)
        for (const route of product.routes) tries.push(lacks(day, site, product, dough, route, "all"));
    } else {
      const runs = day.network.vanRuns.filter((run) => run.from === site.id && run.to === siteId);
      const mayMix = madeAt === siteId && runs.length > 0 && product.routes.some(isHandedOverCold);
      if (madeAt === undefined || madeAt === site.id || mayMix)
        tries.push(...byVan(day, product, dough, site, to, runs, madeAt));
    }
    if (tries.length === 0) return [];
    return [{ site, lacks: tries.reduce((best, one) => (one.length < best.length ? one : best)) }];
  });
}

function isHandedOverCold({ handOvers }: Route): boolean {
  return handOvers?.some((handOver) => handOver !== "baked") ?? false;
}

const MOST_CHARACTERS = 460;

/** "Weir Yard: no kettle. Quay shop: no mixer, no kettle." Of very many sites the first. */
export function siteBySiteText(found: readonly AtSite[]): string {
  const lines = found.map(({ site, lacks: what }) => `${site.name}: ${what.join(", ")}.`);
  let text = "";
  for (const [i, line] of lines.entries()) {
    if (text.length + line.length > MOST_CHARACTERS)
      return `${text === "" ? `${line.slice(0, MOST_CHARACTERS)}...` : text} And ${lines.length - Math.max(1, i)} more.`;
    text = text === "" ? line : `${text} ${line}`;
  }
  return text;
}
