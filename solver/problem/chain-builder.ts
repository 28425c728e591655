import type {
  BakeStep,
  BoilStep,
  Dough,
  Fridge,
  HandStep,
  Product,
  Route,
  StandingStep,
  Step,
} from "../../schemas/index.js";
import type { Alternative, CrewNeed, Hold, Operation, Span } from "../search/model.js";
import { allergensOfDough, allergensOfProduct } from "../trade/dough.js";
import { chillHeatW } from "../trade/fridge-load.js";
import { type HoldingLimits, limitOf } from "../trade/holding.js";
import { boilMinutes } from "../trade/kettle.js";
import { workedMinutes } from "../trade/steps.js";
import { retardLimitMinutes, tubsFor } from "./containers.js";
import type { LoadSpec } from "./explode.js";
import type { MadeMode, ModeRequest, StepTrace } from "./modes.js";
import { crewsWith, decksFor, emptyHold, NO_ROWS, roomFor } from "./room-for.js";
import type { SiteRows } from "./site-rows.js";
import { slowed } from "./told.js";
import { benchClassKey, kettleClassKey } from "./uses.js";
import { retardsIn, type Way } from "./ways.js";

const NO_WAIT = { leastMinutes: 0, greatestMinutes: 0 };

function isStanding(step: Step): step is StandingStep {
  return (
    step.does === "rest" ||
    step.does === "retard" ||
    step.does === "temper" ||
    step.does === "proof" ||
    step.does === "cool"
  );
}

/** Builds the chain of one way of one route, or null when a site lacks something that it needs. */
export class ChainBuilder {
  readonly holds: Hold[] = [];
  readonly operations: Operation[] = [];
  readonly steps: StepTrace[] = [];
  private wait = NO_WAIT;
  private pending: Hold | null = null;
  private readonly request: ModeRequest;
  private readonly load: LoadSpec;
  private readonly product: Product;
  private readonly dough: Dough;
  private readonly way: Way;
  private readonly route: Route;
  private readonly limits: HoldingLimits;
  readonly tubsG: readonly number[];

  constructor(request: ModeRequest, load: LoadSpec, route: Route, way: Way) {
    this.request = request;
    this.load = load;
    this.product = request.index.products.get(load.product)!;
    this.dough = request.index.doughs.get(this.product.dough)!;
    this.limits = limitOf(request.index.day.settings, this.dough);
    this.route = route;
    this.way = way;
    const site = request.rows.get(way.mixSite)!.site;
    this.tubsG =
      retardsIn(route) === "tubs" ? (load.tubsG ?? tubsFor(request.index, this.dough, site, load.doughG)) : [];
  }

  build(): MadeMode | null {
    const { route, way, request } = this;
    if (retardsIn(route) === "tubs" && this.tubsG.length === 0) return null;
    let shaped = false;
    for (const step of route.steps) {
      if (step.does === "shape") shaped = true;
      if (!this.add(step, shaped)) return null;
    }
    this.close();
    const anchor = this.operationOf("bake");
    if (this.operations[anchor]!.alternatives.length === 0) return null;
    const spans = this.spans();
    if (!spans) return null;
    const baked = way.handOver === "baked" ? way.trip : null;
    const { warmMinutes } = this.limits;
    const { horizon } = request.index;
    return {
      mode: {
        site: request.siteNumbers.get(way.mixSite)!,
        holds: this.holds,
        operations: this.operations,
        anchor,
        spans,
        warmFrom: this.lastColdOperation(),
        warmMinutes: warmMinutes ?? horizon,
        trip: way.trip ? request.trips.get(way.trip.id)!.number : -1,
        tripAmount: way.trip ? this.tripPositions() : 0,
        finishBy: baked ? Math.min(baked.leave, horizon) : horizon,
        deliveredAt: baked ? Math.min(baked.delivered, horizon) : -1,
      },
      meaning: { route, ...way, steps: this.steps, tubsG: this.tubsG },
    };
  }

  private tripPositions(): number {
    if (this.way.handOver !== "tubs") return this.load.pans;
    const tubType = this.request.index.tubTypes.get(this.dough.tubType!)!;
    return this.tubsG.length * (tubType.vanPositions ?? 1);
  }

  /** The operation at whose start the last cold step ends; -1 when the route has none. */
  private lastColdOperation(): number {
    const trace = this.steps.find(({ step }) => step.does === "retard");
    return trace ? trace.hold : -1;
  }

  private operationOf(does: Step["does"]): number {
    return this.steps.find(({ step }) => step.does === does)!.operation;
  }

  private siteOf(step: Step, shaped: boolean): string {
    const { handOver, mixSite, bakeSite } = this.way;
    if (handOver === "tubs") return step.does === "rest" ? mixSite : bakeSite;
    if (handOver === "pans") {
      const before = !shaped || step.does === "shape";
      return before ? mixSite : bakeSite;
    }
    return bakeSite;
  }

  private add(step: Step, shaped: boolean): boolean {
    const site = this.siteOf(step, shaped);
    if (isStanding(step)) {
      const hold = this.standing(step, site);
      if (!hold) return false;
      if (this.pending || this.wait.greatestMinutes > 0) this.point();
      this.pending = hold;
      this.steps.push({ step, site, hold: this.operations.length, operation: -1 });
      return true;
    }
    const operation = this.worked(step, site);
    if (!operation) return false;
    this.steps.push({ step, site, hold: -1, operation: this.operations.length });
    this.push(operation);
    this.wait = "waitAfter" in step && step.waitAfter ? step.waitAfter : NO_WAIT;
    return true;
  }

  /** An operation of no length, between two holds or at the end of the chain. */
  private point(): void {
    this.push({
      alternatives: [{ row: -1, amount: 0, minutes: 0 }],
      crew: null,
      from: 0,
      to: this.request.index.horizon,
    });
  }

  private push(operation: Operation): void {
    this.holds.push(this.pending ?? emptyHold(this.wait.leastMinutes, this.wait.greatestMinutes));
    this.operations.push(operation);
    this.pending = null;
    this.wait = NO_WAIT;
  }

  private close(): void {
    if (this.pending) this.point();
  }

  private standing(step: StandingStep, site: string): Hold | null {
    if (step.does === "rest" || step.does === "temper") return emptyHold(step.leastMinutes, step.greatestMinutes);
    if (step.does === "retard") return this.retard(step);
    return roomFor(this.request.rows.get(site)!, step, this.load.pans);
  }

  private retard(step: StandingStep): Hold | null {
    const { way, load, dough } = this;
    const inTubs = retardsIn(this.route) === "tubs";
    const container = inTubs ? `tub ${dough.tubType}` : `pan ${this.product.panType}`;
    const amount = inTubs ? this.tubsG.length : load.pans;
    const groupsAt = (site: string) =>
      this.request.rows
        .get(site)!
        .shelves.filter(
          (group) =>
            group.container === container &&
            group.positions.length >= amount &&
            group.fridge.airTempC <= (this.limits.coldAtMostC ?? Number.POSITIVE_INFINITY),
        );
    const fridgeNow = groupsAt(way.mixSite).filter(
      (group) => !inTubs || (this.chills(group.fridge.id) && this.bearsMinutes(group.fridge) >= step.leastMinutes),
    );
    if (fridgeNow.length === 0) return null;
    const greatest = inTubs
      ? Math.min(step.greatestMinutes, ...fridgeNow.map((group) => this.bearsMinutes(group.fridge)))
      : step.greatestMinutes;
    const hold = emptyHold(step.leastMinutes, greatest);
    const heat = dough.chill ? this.heatW() : 0;
    const cold = {
      ...hold,
      rows: Int32Array.from(fridgeNow, (group) => group.row),
      amount,
      heatRows: heat > 0 ? Int32Array.from(fridgeNow, (group) => group.heatRow) : NO_ROWS,
      heatAmount: heat,
      heatMinutes: dough.chill ? Math.min(dough.chill.withinMinutes, greatest) : 0,
    };
    if (way.handOver !== "tubs" && way.handOver !== "pans") return cold;
    const there = groupsAt(way.bakeSite);
    if (there.length === 0) return null;
    const trip = way.trip!;
    return { ...cold, ride: { leave: trip.leave, arrive: trip.delivered, rows: Int32Array.from(there, (g) => g.row) } };
  }

  /** Do this load's tubs chill in time in that fridge? */
  private chills(fridgeId: string): boolean {
    // Dough that is in its tubs stands where it stands.
    if (this.load.tubsG) return true;
    const site = this.request.rows.get(this.way.mixSite)!.site;
    const alone = { ...site, fridges: site.fridges.filter((fridge) => fridge.id === fridgeId) };
    return tubsFor(this.request.index, this.dough, alone, this.load.doughG).length === this.tubsG.length;
  }

  /** How long this load's tubs may be retarded in a fridge. */
  private bearsMinutes(fridge: Fridge): number {
    const tubType = this.request.index.tubTypes.get(this.dough.tubType!)!;
    return retardLimitMinutes(tubType, this.dough, fridge, Math.max(...this.tubsG));
  }

  /** Watts while the dough is pulled down (D9), rounded up. */
  private heatW(): number {
    return Math.ceil(chillHeatW(this.dough, this.load.doughG));
  }

  /** Does what is added next follow the bake? */
  private get isBaked(): boolean {
    return this.steps.some(({ step }) => step.does === "bake");
  }

  private worked(step: HandStep | BoilStep | BakeStep, site: string): Operation | null {
    const rows = this.request.rows.get(site)!;
    if (step.does === "boil") return this.boil(step, rows);
    if (step.does === "bake") return this.bake(step, rows);
    const minutes = workedMinutes(step, this.load.pieces, this.load.pans);
    const key = benchClassKey(allergensOfProduct(this.request.index.day.catalogue, this.product));
    const alternatives = rows.site.benches
      .filter((bench) => bench.places >= step.heads)
      .map((bench) => ({
        row: rows.benches.get(`${bench.id} ${key}`)!,
        amount: step.heads,
        minutes: this.slowed(minutes, `${site}/${bench.id}`),
      }));
    const crew = this.crew(rows, step.skill, step.heads, 0);
    if (!this.isBaked) return this.operation(alternatives, crew);
    // After the bake a chain's minutes are the same wherever it is done: a slow bench is left out while there is another.
    const least = Math.min(...alternatives.map((alternative) => alternative.minutes));
    return this.operation(
      alternatives.filter((alternative) => alternative.minutes === least),
      crew,
    );
  }

  private boil(step: BoilStep, rows: SiteRows): Operation | null {
    const key = kettleClassKey(allergensOfDough(this.request.index.day.catalogue, this.dough), step.lyePercent ?? 0);
    const alternatives: Alternative[] = [];
    for (const kettle of rows.site.kettles) {
      const minutes = boilMinutes(kettle, step, this.product, this.dough, this.load.pieces);
      if (minutes === null) continue;
      alternatives.push({
        row: rows.kettles.get(`${kettle.id} ${key}`)!,
        amount: 1,
        minutes: this.slowed(minutes, `${rows.site.id}/${kettle.id}`),
      });
    }
    return this.operation(alternatives, this.crew(rows, step.skill, step.heads, 0));
  }

  private bake(step: BakeStep, rows: SiteRows): Operation | null {
    const { pans } = this.load;
    const alternatives = decksFor(rows, step, this.product.panType, pans, this.request.index.slowness);
    const attend = step.attendMinutes ?? 0;
    const crew = attend > 0 ? this.crew(rows, step.skill!, step.heads!, attend) : undefined;
    return this.operation(alternatives, crew);
  }

  /** Minutes on a unit that may be slower than usual (D21). */
  private slowed(minutes: number, unit: string): number {
    return slowed(minutes, this.request.index.slowness.get(unit));
  }

  /** `crew` null: nobody there has the skill; undefined: nobody needed. */
  private operation(alternatives: readonly Alternative[], crew: CrewNeed | null | undefined): Operation | null {
    if (crew === null || alternatives.length === 0) return null;
    return { alternatives, crew: crew ?? null, from: 0, to: this.request.index.horizon };
  }

  private crew(rows: SiteRows, skill: string, heads: number, minutes: number): CrewNeed | null {
    const groups = crewsWith(rows, skill);
    return groups.length === 0 ? null : { rows: groups, heads, minutes };
  }

  private spans(): Span[] | null {
    const { way, load, request } = this;
    const shapeSite = way.handOver === "pans" ? way.mixSite : way.bakeSite;
    const panRow = request.rows.get(shapeSite)!.pans.get(this.product.panType);
    if (panRow === undefined) return null;
    const cool = this.steps.find(({ step }) => step.does === "cool")!;
    const shape = this.operationOf("shape");
    const spans: Span[] = [
      { row: panRow, amount: load.pans, fromOperation: shape, toOperation: way.handOver === "pans" ? -1 : cool.hold },
    ];
    if (retardsIn(this.route) !== "tubs") return spans;
    const tubRow = request.rows.get(way.mixSite)!.tubs.get(this.dough.tubType!);
    if (tubRow === undefined) return null;
    const toOperation = way.handOver === "tubs" ? -1 : shape;
    spans.push({ row: tubRow, amount: this.tubsG.length, fromOperation: -1, toOperation });
    return spans;
  }
}
