import type { Dough, PanType, Product, Site, Step } from "../../schemas/index.js";
import { panItemHeightMm } from "../geometry/index.js";
import { greatestTubG } from "../problem/containers.js";
import type { DayIndex } from "../problem/day-index.js";
import { doughForPiecesG, leastBatchG, mixerLimitG } from "../trade/dough.js";
import { heatUpMinutes, piecesPerDip } from "../trade/kettle.js";
import { leadMinutes, ovenLeadMinutes } from "../trade/oven.js";
import { materialOf } from "../trade/thermal.js";
import { tubLimit } from "../trade/tubs.js";
import { deckLimit, panLimit } from "../verify/count.js";
import type { PoolBook } from "./pools.js";
import { ShelfPools } from "./shelf-pools.js";
import type { LoadSizes } from "./sizes.js";
import type { Way } from "./ways.js";

/** A unit that can do a step, in a pool of units: how much of the pool it is. */
export interface Eligible {
  readonly id: string;
  readonly unit: string;
  readonly amount: number;
  readonly leadMinutes: number;
  /** What has to be hot for it: the unit itself, or all of its oven. */
  readonly heater?: string;
}

export type UnitKind = "deck-positions" | "mixer" | "bench" | "kettle" | "proofer-positions" | "rack-positions";

/** The verifier lets 0.3 % more ferment than is allowed, sizing 0.5 % less: a little more than both. */
const MORE_FERMENTED = 1.013;

/**
 * How much dough a tub holds: what chills in time, a little more than any plan has that keeps the rules (for proofs), or what loads are made with.
 */
export type TubCount = "chilled" | "allowed" | "sized";

/**
 * What the kitchens have, asked the way the rules count it (positions as the verifier counts them), so that the program is about every plan
 * that the documents allow and not only about those that the search looks at.
 */
export class Kitchen {
  readonly index: DayIndex;
  readonly book: PoolBook;
  readonly shelfPools: ShelfPools;
  private readonly referencePan: PanType;
  private readonly unitSets = new Map<string, Set<string>>();
  private readonly tubLimits = new Map<string, number>();
  private readonly opens = new Map<string, Uint8Array | null>();
  private readonly unitsOfKind = new Map<string, readonly Eligible[]>();

  constructor(
    index: DayIndex,
    book: PoolBook,
    private readonly tubs: TubCount = "chilled",
  ) {
    this.index = index;
    this.book = book;
    this.shelfPools = new ShelfPools(index, book);
    const ordered = new Set(index.wants.map((want) => want.line.product));
    const products = index.day.catalogue.products.filter(({ id }) => ordered.has(id));
    const uses = new Map<string, number>();
    for (const product of products) {
      const panType = index.panTypes.get(product.panType)!;
      uses.set(panType.id, (uses.get(panType.id) ?? 0) + 1);
    }
    const [most] = [...uses].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
    this.referencePan = index.panTypes.get(most?.[0] ?? "") ?? index.day.network.panTypes[0]!;
    for (const site of index.day.network.sites) for (const product of products) this.noteSets(product, site);
  }

  /** Remembers which sets of units serve something: a set's pool counts all the work that only units of the set can do. */
  private noteSets(product: Product, site: Site): void {
    const note = (kind: string, units: readonly Eligible[]): void => {
      if (units.length === 0) return;
      const key = `${site.id} ${kind}`;
      const sets = this.unitSets.get(key) ?? new Set<string>();
      sets.add(setKey(units));
      this.unitSets.set(key, sets);
    };
    note("mixer", this.mixers(this.index.doughs.get(product.dough)!, site));
    note("rack-positions", this.racks(site));
    for (const route of product.routes) {
      for (const step of route.steps) {
        if (step.does === "bake") note("deck-positions", this.decks(product, step.tempC, site));
        else if (step.does === "boil") note("kettle", this.kettles(product, site));
        else if (step.does === "proof") note("proofer-positions", this.proofers(step.tempC, site));
        else if ("skill" in step) note("bench", this.benches(step.heads, site));
      }
    }
  }

  site(id: string): Site {
    return this.index.sites.get(id)!;
  }

  /** Sizes of loads of a product baked at a site; mostPans 0: it cannot be baked there. */
  loadSizes(product: Product, bake: Extract<Step, { does: "bake" }>, site: Site): LoadSizes {
    const perPan = panLimit(product, this.index.panTypes.get(product.panType)!);
    const decks = this.decks(product, bake.tempC, site);
    const mostPans = Math.min(this.index.maxPansPerLoad, Math.max(0, ...decks.map(({ positions }) => positions)));
    return { perPan, mostPans: perPan > 0 ? mostPans : 0 };
  }

  decks(product: Product, tempC: number, site: Site): (Eligible & { positions: number; minutes: number })[] {
    const panType = this.index.panTypes.get(product.panType)!;
    const height = panItemHeightMm(product, panType);
    return site.ovens.flatMap((oven) => {
      const lead = ovenLeadMinutes(oven, site);
      return oven.decks.flatMap((deck) => {
        const positions = height <= deck.clearHeightMm && tempC <= deck.maxTempC ? deckLimit(deck, panType) : 0;
        if (positions === 0) return [];
        return [
          {
            id: `${oven.id}/${deck.id}`,
            unit: `${site.id}/${oven.id}/${deck.id}`,
            amount: Math.max(1, deckLimit(deck, this.referencePan)),
            leadMinutes: oven.sharedThermostat ? lead : leadMinutes(deck, site.roomTempC),
            heater: oven.sharedThermostat ? `${site.id}/${oven.id}` : `${site.id}/${oven.id}/${deck.id}`,
            positions,
            minutes: deck.doorRecoveryMinutes,
          },
        ];
      });
    });
  }

  mixers(dough: Dough, site: Site): (Eligible & { limitG: number })[] {
    return site.mixers.flatMap((mixer) => {
      const limitG = mixerLimitG(mixer, dough.absorptionPercent);
      if (limitG === null || leastBatchG(mixer, dough) > limitG) return [];
      const amount = Math.max(...mixer.limits.map((row) => row.maxDoughG)) / 1000;
      return [{ id: mixer.id, unit: `${site.id}/${mixer.id}`, amount, leadMinutes: 0, limitG }];
    });
  }

  benches(heads: number, site: Site): Eligible[] {
    return site.benches
      .filter((bench) => bench.places >= heads)
      .map((bench) => ({ id: bench.id, unit: `${site.id}/${bench.id}`, amount: bench.places, leadMinutes: 0 }));
  }

  /** Kettles that take the product; a slower one counts for less than the fastest. */
  kettles(product: Product, site: Site): Eligible[] {
    const rate = (kettle: Site["kettles"][number]): number => Math.max(...kettle.piecesPerDip.map((row) => row.pieces));
    const fastest = Math.max(1, ...site.kettles.map(rate));
    return site.kettles
      .filter((kettle) => piecesPerDip(kettle, product) !== null)
      .map((kettle) => ({
        id: kettle.id,
        unit: `${site.id}/${kettle.id}`,
        amount: rate(kettle) / fastest,
        leadMinutes: heatUpMinutes(kettle, site),
      }));
  }

  proofers(tempC: number | undefined, site: Site): Eligible[] {
    return site.proofers
      .filter((proofer) => tempC === undefined || proofer.tempC === tempC)
      .map((proofer) => ({
        id: proofer.id,
        unit: `${site.id}/${proofer.id}`,
        amount: proofer.positions,
        leadMinutes: 0,
      }));
  }

  racks(site: Site): Eligible[] {
    return site.racks.map((rack) => ({
      id: rack.id,
      unit: `${site.id}/${rack.id}`,
      amount: rack.positions,
      leadMinutes: 0,
    }));
  }

  /** Pools of units that contain all of these: work on them takes from each. `all` are the units of the kind at the site. */
  unitPools(kind: UnitKind, site: Site, units: readonly Eligible[]): number[] {
    const own = units.map(({ id }) => id);
    return [...(this.unitSets.get(`${site.id} ${kind}`) ?? [])].flatMap((key) => {
      const set = key.split(" ");
      if (!own.every((id) => set.includes(id))) return [];
      return [this.book.get(kind, site.id, key, () => this.book.unitLine(this.unitsNamed(kind, site, set)))];
    });
  }

  private unitsNamed(kind: UnitKind, site: Site, ids: readonly string[]): Eligible[] {
    const key = `${site.id} ${kind}`;
    let all = this.unitsOfKind.get(key);
    if (!all) {
      all = this.allUnits(kind, site);
      this.unitsOfKind.set(key, all);
    }
    return all.filter(({ id }) => ids.includes(id));
  }

  /** Every unit of a kind, as it is counted whatever it serves. */
  private allUnits(kind: UnitKind, site: Site): Eligible[] {
    const found = new Map<string, Eligible>();
    const add = (units: readonly Eligible[]): void => {
      for (const unit of units) found.set(unit.id, unit);
    };
    for (const want of this.index.wants) {
      const product = this.index.products.get(want.line.product)!;
      if (kind === "mixer") add(this.mixers(this.index.doughs.get(product.dough)!, site));
      if (kind === "kettle") add(this.kettles(product, site));
      for (const route of product.routes)
        for (const step of route.steps)
          if (kind === "deck-positions" && step.does === "bake") add(this.decks(product, step.tempC, site));
    }
    if (kind === "rack-positions") add(this.racks(site));
    if (kind === "proofer-positions") add(this.proofers(undefined, site));
    if (kind === "bench") add(this.benches(1, site));
    return [...found.values()];
  }

  /**
   * 1 at each minute at which work of `minutes` can start: some unit is in service throughout, and some group has the heads for as long as they
   * are needed. Null when there never is one.
   */
  openFor(
    site: Site,
    units: readonly Eligible[],
    minutes: number,
    crew: { readonly skill: string; readonly heads: number; readonly minutes: number } | null,
  ): Uint8Array | null {
    const key = `${site.id} ${setKey(units)} ${minutes} ${crew ? `${crew.skill} ${crew.heads} ${crew.minutes}` : ""}`;
    const known = this.opens.get(key);
    if (known !== undefined) return known;
    const { horizon } = this.index;
    const onUnit = anyRun(
      units.map(({ unit, leadMinutes, heater }) => this.book.inService(unit, leadMinutes, heater)),
      minutes,
      horizon,
    );
    const groups = crew ? site.crew.filter((group) => group.skills.includes(crew.skill)) : [];
    const manned = crew
      ? anyRun(
          groups.map((group) => this.book.heads(site, group.id).map((heads) => (heads >= crew.heads ? 1 : 0))),
          crew.minutes,
          horizon,
        )
      : null;
    const open = onUnit.map((flag, t) => (flag && (!manned || manned[t]) ? 1 : 0));
    const result = open.includes(1) ? open : null;
    this.opens.set(key, result);
    return result;
  }

  /** The most dough in one tub that chills in time at a site, g. A little beyond what is used for sizing: no plan has more. */
  tubLimitG(dough: Dough, site: Site): number {
    const key = `${site.id} ${dough.id}`;
    let limit = this.tubLimits.get(key);
    if (limit === undefined) {
      limit = this.computeTubLimitG(dough, site);
      this.tubLimits.set(key, limit);
    }
    return limit;
  }

  private computeTubLimitG(dough: Dough, site: Site): number {
    if (this.tubs === "sized") return greatestTubG(this.index, dough, site);
    const tubType = this.index.tubTypes.get(dough.tubType ?? "");
    if (!tubType) return 0;
    const { ferment, ...cooled } = dough;
    const { chill } = dough;
    const slack: Dough = {
      ...cooled,
      ...(chill
        ? { chill: { toTempC: chill.toTempC + 0.1, withinMinutes: Math.ceil(chill.withinMinutes / 0.98) } }
        : {}),
      ...(ferment && this.tubs === "allowed"
        ? { ferment: { ...ferment, greatestHours: ferment.greatestHours * MORE_FERMENTED } }
        : {}),
    };
    return Math.max(0, ...site.fridges.map((fridge) => tubLimit(tubType, slack, fridge).massG));
  }

  /** Grams of dough in a piece, divider loss included. */
  doughG(product: Product): number {
    return doughForPiecesG(product, 1);
  }

  /** Watts of a gram while it is pulled down (D9). */
  wattsPerG(dough: Dough): number {
    const { chill, doughTempC } = dough;
    if (!chill) return 0;
    const rise = Math.max(0, doughTempC - chill.toTempC);
    return (materialOf(dough).cpKjPerKgK * rise) / (chill.withinMinutes * 60);
  }

  heatPool(site: Site): number {
    const fridges = site.fridges.map((fridge) => ({
      id: fridge.id,
      unit: `${site.id}/${fridge.id}`,
      amount: fridge.heatRemovalW,
      leadMinutes: 0,
    }));
    return this.book.get("fridge-heat", site.id, "all", () => this.book.unitLine(fridges));
  }

  stockPool(kind: "pans" | "tubs", site: Site, type: string): number | null {
    const count =
      kind === "pans"
        ? site.pans.find((stock) => stock.panType === type)?.count
        : site.tubs.find((stock) => stock.tubType === type)?.count;
    if (!count) return null;
    return this.book.get(kind, site.id, type, () => new Float64Array(this.index.horizon).fill(count));
  }
}

/** 1 where one of the lines is on for `minutes` from there. */
function anyRun(lines: readonly (Uint8Array | Int32Array)[], minutes: number, horizon: number): Uint8Array {
  const starts = new Uint8Array(horizon);
  for (const line of lines) {
    let run = 0;
    for (let t = horizon - 1; t >= 0; t--) {
      run = line[t] ? run + 1 : 0;
      if (run >= minutes) starts[t] = 1;
    }
  }
  return starts;
}

function setKey(units: readonly Eligible[]): string {
  return units
    .map(({ id }) => id)
    .sort()
    .join(" ");
}

/** The site at which a step of a way belongs (D5). */
export function siteOfStep(way: Way, step: Step, shaped: boolean): string {
  if (way.handOver === "tubs") return step.does === "rest" ? way.mixSite : way.bakeSite;
  if (way.handOver === "pans") return !shaped || step.does === "shape" ? way.mixSite : way.bakeSite;
  return way.bakeSite;
}
