import type { Dough, Product, Site, Step } from "../../schemas/index.js";
import type { Family } from "./families.js";
import { type Eligible, type Kitchen, siteOfStep, type UnitKind } from "./kitchen.js";
import type { Edge, Need, Per, TaskSize } from "./needs.js";
import { boilSizes, handSizes, type LoadSizes, type StepSizes, tubsPerPiece } from "./sizes.js";
import { retardsIn, type Way } from "./ways.js";
import type { Chain, Link } from "./windows.js";

/** A way with its links in time and what a piece takes on it. */
export interface MadeChain extends Chain {
  readonly needs: readonly Need[];
  /** Pans and tubs that a piece takes when they are full; tubs 0 when the route has none. */
  readonly panRate: number;
  readonly tubRate: number;
  /** Positions that a full pan or tub takes on the trip; null without one. */
  readonly ride: { readonly per: "pan" | "tub"; readonly positions: number } | null;
}

/** Builds the chain of one way of a family, or null when a site lacks something that it needs. */
export class ChainMaker {
  private readonly links: Link[] = [];
  private readonly needs: Need[] = [];
  private wait = { leastMinutes: 0, greatestMinutes: 0 };
  private readonly kitchen: Kitchen;
  private readonly way: Way;
  private readonly product: Product;
  private readonly dough: Dough;
  private readonly sizes: LoadSizes;

  constructor(kitchen: Kitchen, family: Family, way: Way) {
    this.kitchen = kitchen;
    this.way = way;
    this.product = kitchen.index.products.get(family.product)!;
    this.dough = kitchen.index.doughs.get(this.product.dough)!;
    const bake = way.route.steps.find((step) => step.does === "bake")! as Extract<Step, { does: "bake" }>;
    this.sizes = kitchen.loadSizes(this.product, bake, kitchen.site(way.bakeSite));
  }

  make(): MadeChain | null {
    const { way, kitchen, dough } = this;
    if (this.sizes.mostPans === 0 || !this.mix()) return null;
    let shaped = false;
    for (const [i, step] of way.route.steps.entries()) {
      if (step.does === "shape") shaped = true;
      if (!this.step(step, i, kitchen.site(siteOfStep(way, step, shaped)))) return null;
    }
    const at = (does: string): number => this.links.findIndex((link) => link.does === does);
    const retard = at("retard");
    if (!this.stocks(at("shape"), at("cool"))) return null;
    return {
      way,
      links: this.links,
      needs: this.needs,
      bake: at("bake"),
      coldRide: way.handOver === "tubs" || way.handOver === "pans" ? retard : -1,
      warmAfter: Math.max(0, retard),
      warmMinutes: dough.holdingLimit?.warmMinutes ?? kitchen.index.horizon,
      panRate: this.perPiecePan,
      tubRate: retardsIn(way.route) === "tubs" ? (this.tubs() ?? 0) : 0,
      ride: way.trip ? this.ride() : null,
    };
  }

  private get perPiecePan(): number {
    return 1 / this.sizes.perPan;
  }

  private get doughG(): number {
    return this.kitchen.doughG(this.product);
  }

  private tubs(): number | null {
    const limit = this.kitchen.tubLimitG(this.dough, this.kitchen.site(this.way.mixSite));
    return limit > 0 ? tubsPerPiece(this.doughG, limit, this.sizes) : null;
  }

  private ride(): MadeChain["ride"] {
    if (this.way.handOver !== "tubs") return { per: "pan", positions: 1 };
    return { per: "tub", positions: this.kitchen.index.tubTypes.get(this.dough.tubType!)!.vanPositions ?? 1 };
  }

  private link(
    does: string,
    site: Site,
    step: number,
    least: number,
    greatest: number,
    open: Uint8Array | null,
  ): number {
    const link = {
      does,
      site: site.id,
      step,
      least,
      greatest,
      open,
      waitLeast: this.wait.leastMinutes,
      waitGreatest: this.wait.greatestMinutes,
    };
    this.wait = { leastMinutes: 0, greatestMinutes: 0 };
    return this.links.push(link) - 1;
  }

  /** Work on units by people: from which minutes it can start, and what it takes of both. Null: no unit or nobody. */
  private work(
    does: string,
    site: Site,
    step: number,
    units: readonly { readonly unit: Eligible; readonly list: readonly TaskSize[]; readonly greatest: number }[],
    kind: UnitKind,
    crew: {
      readonly skill: string;
      readonly heads: number;
      readonly minutes: number;
      readonly sizes: readonly TaskSize[];
    } | null,
    per: Per = "piece",
  ): number | null {
    if (units.length === 0) return null;
    const { kitchen } = this;
    const least = Math.min(...units.flatMap(({ list }) => list.map(({ minutes }) => minutes)));
    const greatest = Math.max(...units.map((entry) => entry.greatest));
    const open = kitchen.openFor(
      site,
      units.map(({ unit }) => unit),
      least,
      crew ? { ...crew, minutes: crew.minutes > 0 ? Math.min(crew.minutes, least) : least } : null,
    );
    if (!open) return null;
    const link = this.link(does, site, step, least, greatest, open);
    const sizes = units.flatMap(({ list }) => list);
    const own = units.map(({ unit }) => unit);
    for (const pool of kitchen.unitPools(kind, site, own))
      this.needs.push({ kind: "task", per, pool, link, sizes, firstMinutes: 0 });
    if (crew && crew.heads > 0) {
      for (const pool of kitchen.book.crewPools(site, crew.skill))
        this.needs.push({ kind: "task", per: "piece", pool, link, sizes: crew.sizes, firstMinutes: crew.minutes });
    }
    return link;
  }

  private mix(): boolean {
    const { dough, kitchen } = this;
    const site = kitchen.site(this.way.mixSite);
    const mixers = kitchen.mixers(dough, site);
    const heads = dough.mixHeads ?? 1;
    const limit = Math.max(1, ...mixers.map(({ limitG }) => limitG));
    const minutes = dough.mixMinutes;
    const crew = {
      skill: dough.mixSkill,
      heads,
      minutes: 0,
      sizes: [{ minutes, perPiece: (heads * this.doughG) / limit }],
    };
    const units = mixers.map((mixer) => ({
      unit: mixer,
      list: [{ minutes, perPiece: (this.doughG / mixer.limitG) * mixer.amount }],
      greatest: minutes,
    }));
    return this.work("mix", site, -1, units, "mixer", heads > 0 ? crew : null) !== null;
  }

  private step(step: Step, i: number, site: Site): boolean {
    if ("leastMinutes" in step) return this.standing(step, i, site);
    const made =
      step.does === "boil"
        ? this.boil(step, i, site)
        : step.does === "bake"
          ? this.bake(step, i, site)
          : this.hand(step, i, site);
    if ("waitAfter" in step && step.waitAfter) this.wait = step.waitAfter;
    return made;
  }

  private hand(step: Extract<Step, { does: "shape" | "top" | "pack" }>, i: number, site: Site): boolean {
    const sizes = handSizes(step, this.sizes);
    const list = perPiece(sizes, step.heads);
    const units = this.kitchen.benches(step.heads, site).map((unit) => ({ unit, list, greatest: sizes.greatest }));
    const crew = { skill: step.skill, heads: step.heads, minutes: 0, sizes: list };
    return this.work(step.does, site, i, units, "bench", crew) !== null;
  }

  private boil(step: Extract<Step, { does: "boil" }>, i: number, site: Site): boolean {
    const { kitchen } = this;
    const units = kitchen.kettles(this.product, site).flatMap((unit) => {
      const kettle = site.kettles.find(({ id }) => id === unit.id)!;
      const sizes = boilSizes(kettle, step, this.product, this.dough, this.sizes);
      return sizes
        ? [{ unit, list: perPiece(sizes, unit.amount), byHeads: perPiece(sizes, step.heads), greatest: sizes.greatest }]
        : [];
    });
    const crew = { skill: step.skill, heads: step.heads, minutes: 0, sizes: units.flatMap(({ byHeads }) => byHeads) };
    return this.work("boil", site, i, units, "kettle", crew) !== null;
  }

  private bake(step: Extract<Step, { does: "bake" }>, i: number, site: Site): boolean {
    const units = this.kitchen.decks(this.product, step.tempC, site).map((deck) => {
      const minutes = step.minutes + deck.minutes;
      return {
        unit: deck,
        list: [{ minutes, perPiece: (this.perPiecePan / deck.positions) * deck.amount }],
        greatest: minutes,
      };
    });
    const attend = step.attendMinutes ?? 0;
    const pieces = this.sizes.perPan * this.sizes.mostPans;
    const crew =
      attend > 0
        ? {
            skill: step.skill!,
            heads: step.heads!,
            minutes: attend,
            sizes: [{ minutes: attend, perPiece: step.heads! / pieces }],
          }
        : null;
    return this.work("bake", site, i, units, "deck-positions", crew, "pan") !== null;
  }

  private standing(step: Extract<Step, { leastMinutes: number }>, i: number, site: Site): boolean {
    const { kitchen } = this;
    if (step.does === "retard") return this.retard(step, i);
    const units =
      step.does === "proof" ? kitchen.proofers(step.tempC, site) : step.does === "cool" ? kitchen.racks(site) : null;
    if (units && units.length === 0) return false;
    const link = this.link(step.does, site, i, step.leastMinutes, step.greatestMinutes, null);
    if (!units) return true;
    const kind = step.does === "proof" ? "proofer-positions" : "rack-positions";
    for (const pool of kitchen.unitPools(kind, site, units)) {
      this.stay("pan", pool, { link, at: "start" }, { link, at: "end" }, this.perPiecePan, step.leastMinutes);
    }
    return true;
  }

  private stay(per: Per, pool: number, from: Edge, to: Edge, perPieceAmount: number, leastMinutes: number): void {
    this.needs.push({ kind: "stay", per, pool, from, to, perPiece: perPieceAmount, leastMinutes });
  }

  private retard(step: Extract<Step, { leastMinutes: number }>, i: number): boolean {
    const { way, kitchen, dough, product } = this;
    const inTubs = retardsIn(way.route) === "tubs";
    const container = inTubs ? `tub ${dough.tubType}` : `pan ${product.panType}`;
    const count = inTubs ? this.tubs() : this.perPiecePan;
    const per = inTubs ? "tub" : "pan";
    if (count === null) return false;
    const first = kitchen.site(way.mixSite);
    const here = kitchen.shelfPools.of(first, container);
    const rides = way.handOver === "tubs" || way.handOver === "pans";
    const there = rides ? kitchen.shelfPools.of(kitchen.site(way.bakeSite), container) : here;
    if (here.length === 0 || there.length === 0) return false;
    const link = this.link("retard", first, i, step.leastMinutes, step.greatestMinutes, null);
    const start = { link, at: "start" } as const;
    const end = { link, at: "end" } as const;
    if (rides) {
      for (const { pool, each } of here) this.stay(per, pool, start, { minute: way.trip!.leave }, count * each, 0);
      for (const { pool, each } of there) this.stay(per, pool, { minute: way.trip!.delivered }, end, count * each, 0);
      return true;
    }
    for (const { pool, each } of here) this.stay(per, pool, start, end, count * each, step.leastMinutes);
    const watts = this.doughG * kitchen.wattsPerG(dough);
    const minutes = Math.min(dough.chill?.withinMinutes ?? 0, step.leastMinutes);
    if (watts > 0 && minutes > 0) {
      const sizes = [{ minutes, perPiece: watts }];
      this.needs.push({
        kind: "task",
        per: "piece",
        pool: kitchen.heatPool(first),
        link,
        sizes,
        firstMinutes: minutes,
      });
    }
    return true;
  }

  /** Pans from the start of shape to the end of cool, tubs from the end of the mix to the start of shape (D14). */
  private stocks(shape: number, cool: number): boolean {
    const { way, kitchen, product, dough } = this;
    const shapeSite = kitchen.site(this.links[shape]!.site);
    const pans = kitchen.stockPool("pans", shapeSite, product.panType);
    if (pans === null) return false;
    const least = this.links
      .slice(shape, cool + 1)
      .reduce((sum, link, i) => sum + link.least + (i > 0 ? link.waitLeast : 0), 0);
    const forever = { minute: kitchen.index.horizon };
    this.stay(
      "pan",
      pans,
      { link: shape, at: "start" },
      way.handOver === "pans" ? forever : { link: cool, at: "end" },
      this.perPiecePan,
      least,
    );
    if (retardsIn(way.route) !== "tubs") return true;
    const tubs = kitchen.stockPool("tubs", kitchen.site(way.mixSite), dough.tubType!);
    const count = this.tubs();
    if (tubs === null || count === null) return false;
    this.stay(
      "tub",
      tubs,
      { link: 0, at: "end" },
      way.handOver === "tubs" ? forever : { link: shape, at: "start" },
      count,
      0,
    );
    return true;
  }
}

function perPiece(sizes: StepSizes, amount: number): TaskSize[] {
  return sizes.list.map(({ minutes, pieces }) => ({ minutes, perPiece: amount / pieces }));
}
