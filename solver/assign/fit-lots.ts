import type { Product } from "../../schemas/index.js";
import type { Balance } from "../network/balance.js";
import type { Family } from "../network/families.js";
import { IN_COMMON_MINUTES } from "../network/in-common.js";
import { retardsIn } from "../network/ways.js";
import { fullPan, greatestTubG } from "../problem/containers.js";
import type { DayIndex, Want } from "../problem/day-index.js";
import type { Lot, Portion } from "../problem/explode.js";
import type { Prepared } from "../problem/prepare.js";
import { doughForPiecesG } from "../trade/dough.js";
import { homeOf, largestBaked } from "./lots.js";

/** Tubs that hold so many times as much are worth a few pieces less on the deck. */
const BETTER_FILLED = 1.5;

interface Site {
  readonly mix: string;
  readonly bake: string;
}

/**
 * The network program's answer in whole loads for a day that is short of room: a family is split by where it is mixed and baked, so that what is to
 * be baked on small decks comes in loads that they take, and lines share loads, and with them pans and tubs, wherever one load can be in time for
 * all of them.
 */
export function fitLots(prepared: Prepared, balance: Balance): Lot[] {
  const { families } = balance.program;
  const shares = sharesBySites(balance);
  const lots = new Map<string, Lot & { portions: Portion[] }>();
  families.forEach((family, f) => {
    for (const [site, portions] of split(prepared, family, shares[f]!)) {
      const key = `${family.product} ${family.deliverTo} ${family.madeAt ?? ""} ${site.mix} ${site.bake}`;
      const known = lots.get(key);
      if (known) known.portions.push(...portions);
      else lots.set(key, { ...lotFor(prepared, family, site), portions });
    }
  });
  return [...lots.values()];
}

/** A lot of a product for a site that is mixed and baked there and there; `inTubs`: its loads are to fill their tubs, as far as any route has some. */
export function lotFor(prepared: Prepared, family: Family, { mix, bake }: Site, inTubs = true): Omit<Lot, "portions"> {
  const { index } = prepared;
  const { deliverTo, madeAt } = family;
  const product = index.products.get(family.product)!;
  const maxPans = largestBaked(prepared, product.id, [bake]);
  return {
    product,
    deliverTo,
    madeAt,
    mixSite: mix,
    maxPans,
    maxPieces: inTubs ? fillingTubs(index, product, mix, maxPans) : fullPan(index, product) * maxPans,
    mayShare: (first, next) => haveLoadInCommon(index, first, next, bake),
  };
}

/**
 * Pieces of a load at the most: as many as its pans take, unless the last few of them begin another tub and leave it and the others half empty; then as
 * many as fill one tub less.
 */
function fillingTubs(index: DayIndex, product: Product, mix: string, maxPans: number): number {
  const full = fullPan(index, product) * maxPans;
  const dough = index.doughs.get(product.dough)!;
  const limitG = greatestTubG(index, dough, index.sites.get(mix)!);
  if (limitG <= 0 || !product.routes.some((route) => retardsIn(route) === "tubs")) return full;
  const tubs = Math.ceil(doughForPiecesG(product, full) / limitG);
  const fewer = Math.floor(((tubs - 1) * limitG) / doughForPiecesG(product, 1));
  return tubs > 1 && fewer / (tubs - 1) >= (BETTER_FILLED * full) / tubs ? fewer : full;
}

/** Can one load, baked at a site, be fresh enough and in time for both lines? `first` is due first. */
function haveLoadInCommon(index: DayIndex, first: Want, next: Want, bake: string): boolean {
  const from = Math.max(first.due - first.freshWithinMinutes, next.due - next.freshWithinMinutes);
  const { site } = first.line;
  if (bake === site) return first.due - from >= IN_COMMON_MINUTES;
  return index.trips.some(
    ({ run, leave, delivered }) =>
      run.from === bake && run.to === site && delivered <= first.due && leave - from >= IN_COMMON_MINUTES,
  );
}

/** Pieces of each family, by where they are mixed and baked, most first. */
function sharesBySites({ program, point }: Balance): [Site, number][][] {
  const shares = program.families.map(() => new Map<string, [Site, number]>());
  program.columns.forEach(({ family, chain }, c) => {
    const pieces = point.pieces[c]!;
    if (pieces < 1e-6) return;
    const { mixSite, bakeSite } = chain.way;
    const own = shares[family]!;
    const known = own.get(`${mixSite} ${bakeSite}`)?.[1] ?? 0;
    own.set(`${mixSite} ${bakeSite}`, [{ mix: mixSite, bake: bakeSite }, known + pieces]);
  });
  return shares.map((own) => [...own.values()].sort((a, b) => b[1] - a[1]));
}

/** Splits a family's lines in whole pans between sites that get a full load or more. */
function split(prepared: Prepared, family: Family, shares: readonly [Site, number][]): [Site, Portion[]][] {
  const { index } = prepared;
  const perPan = Math.max(1, fullPan(index, index.products.get(family.product)!));
  const usable = shares.filter(
    ([{ bake }, pieces]) => pieces >= perPan * largestBaked(prepared, family.product, [bake]),
  );
  const home = homeOf(prepared, family);
  const chosen: readonly [Site, number][] =
    usable.length > 0 ? usable : [shares[0] ?? [{ mix: home, bake: home }, family.pieces]];
  const total = chosen.reduce((sum, [, pieces]) => sum + pieces, 0);
  const rest = family.wants.map((want) => ({ want, pieces: want.pieces }));
  return chosen.flatMap(([site, pieces], i): [Site, Portion[]][] => {
    const whole = Math.round((family.pieces * pieces) / total / perPan) * perPan;
    let wanted = i === chosen.length - 1 ? Number.POSITIVE_INFINITY : whole;
    const portions: Portion[] = [];
    for (const portion of rest) {
      const taken = Math.min(portion.pieces, wanted);
      if (taken <= 0) continue;
      portions.push({ want: portion.want, pieces: taken });
      portion.pieces -= taken;
      wanted -= taken;
    }
    return portions.length > 0 ? [[site, portions]] : [];
  });
}
