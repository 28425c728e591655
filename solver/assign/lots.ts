import type { Balance } from "../network/balance.js";
import { piecesByMixSite } from "../network/balance.js";
import type { Family } from "../network/families.js";
import { fullPan } from "../problem/containers.js";
import type { Lot, Portion } from "../problem/explode.js";
import type { Prepared } from "../problem/prepare.js";

/** A family is split between sites only in parts of at least so many loads. */
const LEAST_PART_LOADS = 1;

/** The most pans of a product that one deck takes, over some sites. */
export function largestBaked(prepared: Prepared, product: string, sites: readonly string[]): number {
  const { index, request } = prepared;
  const { panType, routes } = index.products.get(product)!;
  const temps = new Set(
    routes.flatMap(({ steps }) => steps.flatMap((step) => (step.does === "bake" ? [step.tempC] : []))),
  );
  let most = 1;
  for (const site of new Set(sites)) {
    for (const deck of request.rows.get(site)?.decks ?? [])
      if (deck.panType === panType && temps.has(deck.tempC)) most = Math.max(most, deck.positions);
  }
  return Math.min(most, index.maxPansPerLoad);
}

/** Splits a family's lines between mixing sites, the greatest part first, in whole pans. */
function splitFamily(prepared: Prepared, family: Family, shares: ReadonlyMap<string, number>): Map<string, Portion[]> {
  const parts = new Map<string, Portion[]>();
  const perPan = Math.max(1, fullPan(prepared.index, prepared.index.products.get(family.product)!));
  const isWorthwhile = ([site, pieces]: [string, number]): boolean =>
    pieces / perPan >= LEAST_PART_LOADS * largestBaked(prepared, family.product, [site, family.deliverTo]);
  const sorted = [...shares].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
  const usable = sorted.filter(isWorthwhile);
  const chosen = usable.length > 0 ? usable : sorted.slice(0, 1);
  if (chosen.length === 0)
    return parts.set(
      homeOf(prepared, family),
      family.wants.map((want) => ({ want, pieces: want.pieces })),
    );
  const total = chosen.reduce((sum, [, pieces]) => sum + pieces, 0);
  const rest = family.wants.map((want) => ({ want, pieces: want.pieces }));
  chosen.forEach(([site, pieces], i) => {
    const pans = Math.round((family.pieces * pieces) / total / perPan);
    let wanted = i === chosen.length - 1 ? Number.POSITIVE_INFINITY : pans * perPan;
    const portions: Portion[] = [];
    for (const portion of rest) {
      const taken = Math.min(portion.pieces, wanted);
      if (taken <= 0) continue;
      portions.push({ want: portion.want, pieces: taken });
      portion.pieces -= taken;
      wanted -= taken;
    }
    if (portions.length > 0) parts.set(site, portions);
  });
  return parts;
}

/** Where a family is mixed when the program makes none of it: a site with a mixer, the order's own first. */
export function homeOf(prepared: Prepared, family: Family): string {
  const { index } = prepared;
  const canMix = (site: string): boolean => (index.sites.get(site)?.mixers.length ?? 0) > 0;
  if (canMix(family.deliverTo)) return family.deliverTo;
  return index.trips.find(({ run }) => run.to === family.deliverTo && canMix(run.from))?.run.from ?? family.deliverTo;
}

/** The network program's answer in whole loads. The search keeps the mixing site as a first choice, not as a rule. */
export function lotsOf(prepared: Prepared, balance: Balance): Lot[] {
  const shares = piecesByMixSite(balance);
  const lots = new Map<string, { family: Family; mixSite: string; portions: Portion[] }>();
  balance.program.families.forEach((family, f) => {
    for (const [mixSite, portions] of splitFamily(prepared, family, shares[f]!)) {
      const key = `${family.product} ${family.deliverTo} ${family.madeAt ?? ""} ${mixSite}`;
      const lot = lots.get(key) ?? { family, mixSite, portions: [] };
      lot.portions.push(...portions);
      lots.set(key, lot);
    }
  });
  return [...lots.values()].map(({ family, mixSite, portions }) => ({
    product: prepared.index.products.get(family.product)!,
    deliverTo: family.deliverTo,
    madeAt: family.madeAt,
    mixSite,
    portions,
    maxPans: largestBaked(prepared, family.product, bakingSites(balance, family, mixSite)),
  }));
}

/** Where what is mixed at a site for a family can be baked: a load must be no larger than some deck there takes. */
function bakingSites({ program }: Balance, family: Family, mixSite: string): string[] {
  if (family.madeAt !== undefined) return [family.madeAt];
  const number = program.families.indexOf(family);
  const sites = new Set<string>();
  for (const { family: own, chain } of program.columns)
    if (own === number && chain.way.mixSite === mixSite) sites.add(chain.way.bakeSite);
  return sites.size > 0 ? [...sites] : [mixSite, family.deliverTo];
}
