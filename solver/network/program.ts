import { LpBuilder, type LpModel } from "../lp/model.js";
import type { DayIndex, TripTimes, Want } from "../problem/day-index.js";
import { columnsOf, type FlowColumn } from "./columns.js";
import { type Family, familiesOf } from "./families.js";
import { groupsInCommon } from "./in-common.js";
import {
  type Cut,
  eachCoefficient,
  type FlowPoint,
  offered,
  type PoolUses,
  rateOf,
  usesByPool,
  violatedCuts,
} from "./intervals.js";
import { Kitchen, type TubCount } from "./kitchen.js";
import { type Pool, PoolBook } from "./pools.js";

export interface ProgramOptions {
  /** Which lines grow with the multiple. Default: all. */
  readonly grows?: (want: Want) => boolean;
  /** Slots that a bake's start is divided into. */
  readonly stepMinutes?: number;
  /** Edges of the intervals. */
  readonly gridMinutes?: number;
  /** Lines whose windows differ by less become one family. */
  readonly togetherMinutes?: number;
  /** After due, how late is looked at. 0: on time or not at all. */
  readonly lateMinutes?: number;
  /** Lines have loads in common when they leave so long to finish them in; minus infinity: whenever they are of a product for a site. Default 0. */
  readonly inCommonMinutes?: number;
  readonly tubs?: TubCount;
  /** A program of the same lines in other numbers: what does not depend on the numbers is taken over, and the rows found so far. */
  readonly like?: NetworkProgram | undefined;
}

/** What the rows ask for and what is minimised. */
export interface Aim {
  /** Pieces wanted of each family. Null: as many times the growing pieces as can be, up to `most`. */
  readonly pieces: readonly number[] | null;
  readonly most?: number;
  /** Of a piece in a column; default 0. */
  readonly cost?: (column: FlowColumn) => number;
  /** Of a piece that is not made. */
  readonly shortCost: (family: Family) => number;
  /** What is counted whole, by product and site: nothing, containers in fridges, or those and pans. Only with given pieces. */
  readonly whole: "nothing" | "fridge" | "all";
  /** Of what a pool offers, how much is used. Default 1. */
  readonly share?: (pool: Pool) => number;
  /** What an amount-minute beyond what a pool offers costs; default: it may not be. */
  readonly overloadCost?: number;
  /** Limits on sums of pieces, one row each. */
  readonly limits?: readonly FlowLimit[];
  /** Containers in fridges counted way by way: what each costs, and whether only whole ones will do (then it is an integer program). With `whole` only. */
  readonly containers?: { readonly cost: (column: FlowColumn) => number; readonly areWhole: boolean };
}

export interface FlowLimit {
  readonly columns: (column: FlowColumn) => boolean;
  readonly least: number;
  readonly most: number;
}

export interface BuiltProgram {
  readonly model: LpModel;
  readonly cutRow: number;
  readonly multiple: number;
  readonly short: readonly number[];
  /** Columns of what is used beyond what is offered. */
  readonly overload: readonly number[];
  readonly read: (columns: Float64Array) => FlowPoint;
}

const STEP_MINUTES = 30;
const GRID_MINUTES = 30;
const CUTS_A_POOL = 4;
const MOST_CONTAINERS = 1e4;
/** A remainder smaller than this is not rounded up: its row would be all but parallel to the plain one. */
const LEAST_REMAINDER = 0.03;

/**
 * The network program: pieces of each family by way (route, sites, ride) and slot of the bake. Rows: what is wanted; van positions; for pools and
 * intervals, found as needed, that what every plan takes there at the least is there. With whole containers, a product for a site takes whole
 * pans and whole tubs or shelf places (mixed-integer rounding over the product's families, since one load may serve several of them).
 */
export class NetworkProgram {
  readonly index: DayIndex;
  readonly families: readonly Family[];
  readonly columns: readonly FlowColumn[];
  readonly pools: readonly Pool[];
  cuts: Cut[] = [];
  readonly uses: PoolUses;
  private readonly grid: number;
  /** Families that can have loads in common. */
  readonly groups: readonly (readonly number[])[];
  private readonly columnsOfFamily: readonly (readonly number[])[];

  constructor(index: DayIndex, options: ProgramOptions = {}) {
    this.index = index;
    this.grid = options.gridMinutes ?? GRID_MINUTES;
    this.families = familiesOf(index, index.wants, options.grows ?? (() => true), options.togetherMinutes ?? 0);
    const { like } = options;
    if (like && areAlike(this.families, like.families)) {
      this.columns = like.columns;
      this.pools = like.pools;
      this.uses = like.uses;
      this.groups = like.groups;
      this.columnsOfFamily = like.columnsOfFamily;
      this.cuts = [...like.cuts];
      return;
    }
    const book = new PoolBook(index);
    this.columns = columnsOf(index, new Kitchen(index, book, options.tubs), this.families, {
      stepMinutes: options.stepMinutes ?? STEP_MINUTES,
      lateMinutes: options.lateMinutes ?? 0,
    });
    this.pools = book.pools;
    this.uses = usesByPool(this.pools, this.columns);
    this.groups = groupsInCommon(this.families, this.columns, options.inCommonMinutes ?? 0);
    const own: number[][] = this.families.map(() => []);
    this.columns.forEach(({ family }, c) => {
      own[family]!.push(c);
    });
    this.columnsOfFamily = own;
  }

  build(aim: Aim): BuiltProgram {
    const builder = new LpBuilder();
    const most = aim.most ?? 1;
    const wanted = (f: number): number => {
      const { pieces, growing } = this.families[f]!;
      return aim.pieces?.[f] ?? pieces - growing + growing * most;
    };
    // Columns: pieces, then spare pans and tubs, shortages, the multiple.
    for (const column of this.columns)
      builder.addColumn({ cost: aim.cost?.(column) ?? 0, lower: 0, upper: wanted(column.family) });
    const spare = this.addSpare(builder, aim, wanted);
    const multiple = aim.pieces ? -1 : builder.addColumn({ cost: -1, lower: 0, upper: most });
    const short = this.families.map((family, f) => {
      const upper = aim.pieces ? wanted(f) : family.pieces - family.growing;
      return upper > 0 ? builder.addColumn({ cost: aim.shortCost(family), lower: 0, upper }) : -1;
    });
    // A limit on a sum is not to be met by pieces that nobody ordered.
    const isExact = aim.pieces !== null && (aim.limits?.length ?? 0) > 0;
    this.families.forEach(({ pieces, growing }, f) => {
      const entries = this.columnsOfFamily[f]!.map((c): [number, number] => [c, 1]);
      if (short[f]! >= 0) entries.push([short[f]!, 1]);
      if (multiple >= 0 && growing > 0) entries.push([multiple, -growing]);
      const lower = aim.pieces ? wanted(f) : pieces - growing;
      builder.addRow({ lower, upper: isExact ? lower : Number.POSITIVE_INFINITY }, entries);
    });
    let rows = this.families.length + this.addTrips(builder, spare);
    if (aim.whole !== "nothing" && aim.pieces) rows += this.addWhole(builder, aim, aim.pieces, spare, short);
    if (aim.containers) rows += this.addContainers(builder, aim.containers, spare);
    for (const limit of aim.limits ?? []) {
      builder.addRow(
        { lower: limit.least, upper: limit.most },
        this.columns.flatMap((column, c): [number, number][] => (limit.columns(column) ? [[c, 1]] : [])),
      );
      rows++;
    }
    const overload = this.cuts.flatMap((cut) => this.addCut(builder, cut, spare, aim));
    const read = (values: Float64Array): FlowPoint => {
      const taken = (list: Int32Array): Float64Array => Float64Array.from(list, (c) => (c < 0 ? 0 : values[c]!));
      return { pieces: values.slice(0, this.columns.length), spare: { pan: taken(spare.pan), tub: taken(spare.tub) } };
    };
    return { model: builder.build(), cutRow: rows, multiple, short, overload, read };
  }

  /** Pans and tubs beyond those that pieces fill, per column. */
  private addSpare(builder: LpBuilder, aim: Aim, wanted: (f: number) => number): Record<"pan" | "tub", Int32Array> {
    const spare = {
      pan: new Int32Array(this.columns.length).fill(-1),
      tub: new Int32Array(this.columns.length).fill(-1),
    };
    if (aim.whole === "nothing" || !aim.pieces) return spare;
    this.columns.forEach((column, c) => {
      const { chain, family } = column;
      const upper = 1 + wanted(family);
      const isPanCold = chain.tubRate === 0 && coldEach(column) > 0;
      if (aim.whole === "all" || isPanCold) spare.pan[c] = builder.addColumn({ cost: 0, lower: 0, upper });
      if (chain.tubRate > 0) spare.tub[c] = builder.addColumn({ cost: 0, lower: 0, upper });
    });
    return spare;
  }

  private addTrips(builder: LpBuilder, spare: Record<"pan" | "tub", Int32Array>): number {
    const riding = new Map<TripTimes, [number, number][]>();
    this.columns.forEach(({ chain }, c) => {
      const { trip } = chain.way;
      if (!trip || !chain.ride) return;
      const { per, positions } = chain.ride;
      let entries = riding.get(trip);
      if (!entries) {
        entries = [];
        riding.set(trip, entries);
      }
      entries.push([c, positions * (per === "pan" ? chain.panRate : chain.tubRate)]);
      if (spare[per][c]! >= 0) entries.push([spare[per][c]!, positions]);
    });
    for (const [trip, entries] of riding)
      builder.addRow({ lower: Number.NEGATIVE_INFINITY, upper: trip.run.positions }, entries);
    return riding.size;
  }

  private addCut(builder: LpBuilder, cut: Cut, spare: Record<"pan" | "tub", Int32Array>, aim: Aim): number[] {
    const pool = this.pools[cut.pool]!;
    const entries = new Map<number, number>();
    const add = (column: number, value: number): void => {
      entries.set(column, (entries.get(column) ?? 0) + value);
    };
    eachCoefficient(this.uses[cut.pool]!, this.columns, cut, (column, per, perPiece, each) => {
      add(column, perPiece);
      if (per !== "piece" && spare[per][column]! >= 0) add(spare[per][column]!, each);
    });
    const overload: number[] = [];
    if (aim.overloadCost !== undefined)
      overload.push(builder.addColumn({ cost: aim.overloadCost, lower: 0, upper: 1e9 }));
    for (const column of overload) entries.set(column, -1);
    const room = offered(pool, cut) * (aim.share?.(pool) ?? 1);
    builder.addRow({ lower: Number.NEGATIVE_INFINITY, upper: room }, [...entries]);
    return overload;
  }

  /**
   * Whole pans, and whole containers in fridges, of each product for each site. With n + f of them filled (0 < f < 1), there are n + 1, less what is
   * not made or needs none, divided by f: the mixed-integer rounding inequality, which every whole number of containers satisfies.
   */
  private addWhole(
    builder: LpBuilder,
    aim: Aim,
    pieces: readonly number[],
    spare: Record<"pan" | "tub", Int32Array>,
    short: readonly number[],
  ): number {
    let rows = 0;
    for (const group of this.groups) {
      const columns = group.flatMap((f) => this.columnsOfFamily[f]!);
      if (columns.length === 0) continue;
      const total = group.reduce((sum, f) => sum + pieces[f]!, 0);
      const none = group.flatMap((f) => (short[f]! >= 0 ? [short[f]!] : []));
      const row = (
        each: number,
        filled: (c: number) => readonly [number, number][],
        without: readonly number[],
      ): void => {
        const remainder = total / each - Math.floor(total / each + 1e-9);
        if (remainder < LEAST_REMAINDER || remainder > 1 - 1e-6) return;
        const entries = columns.flatMap((c) => filled(c));
        for (const column of [...without, ...none]) entries.push([column, 1 / (each * remainder)]);
        builder.addRow({ lower: Math.ceil(total / each - 1e-9), upper: Number.POSITIVE_INFINITY }, entries);
        rows++;
      };
      const perPan = 1 / this.columns[columns[0]!]!.chain.panRate;
      if (aim.whole === "all")
        row(
          perPan,
          (c) => [
            [c, 1 / perPan],
            [spare.pan[c]!, 1],
          ],
          [],
        );
      const cold = columns.filter((c) => coldEach(this.columns[c]!) > 0);
      if (cold.length === 0) continue;
      const each = Math.max(...cold.map((c) => coldEach(this.columns[c]!)));
      const isCold = new Set(cold);
      row(
        each,
        (c) => {
          if (!isCold.has(c)) return [];
          const { chain } = this.columns[c]!;
          return chain.tubRate > 0
            ? [
                [c, chain.tubRate],
                [spare.tub[c]!, 1],
              ]
            : [
                [c, chain.panRate],
                [spare.pan[c]!, 1],
              ];
        },
        columns.filter((c) => !isCold.has(c)),
      );
    }
    return rows;
  }

  /** Columns for the containers of each group that go one way, whatever line they are for and whenever they are baked. */
  private addContainers(
    builder: LpBuilder,
    { cost, areWhole }: NonNullable<Aim["containers"]>,
    spare: Record<"pan" | "tub", Int32Array>,
  ): number {
    let rows = 0;
    for (const group of this.groups) {
      const byWay = new Map<string, { column: FlowColumn; entries: [number, number][] }>();
      for (const c of group.flatMap((f) => this.columnsOfFamily[f]!)) {
        const column = this.columns[c]!;
        const per = containerOf(column);
        if (!per) continue;
        const way = byWay.get(placesKey(column)) ?? { column, entries: [] };
        byWay.set(placesKey(column), way);
        way.entries.push([c, rateOf(column.chain, per)]);
        if (spare[per][c]! >= 0) way.entries.push([spare[per][c]!, 1]);
      }
      for (const { column, entries } of byWay.values()) {
        const count = builder.addColumn({ cost: cost(column), lower: 0, upper: MOST_CONTAINERS, integer: areWhole });
        builder.addRow({ lower: 0, upper: 0 }, [...entries, [count, -1]]);
      }
      rows += byWay.size;
    }
    return rows;
  }

  /** Adds the intervals that a point breaks; how many. */
  separate(point: FlowPoint): number {
    const before = this.cuts.length;
    this.pools.forEach((pool, p) => {
      this.cuts.push(...violatedCuts(pool, p, this.uses[p]!, this.columns, point, this.grid, CUTS_A_POOL));
    });
    return this.cuts.length - before;
  }
}

/** The same but for the number of pieces? */
function areAlike(own: readonly Family[], other: readonly Family[]): boolean {
  return (
    own.length === other.length &&
    own.every(({ product, deliverTo, madeAt, due, freshFrom }, f) => {
      const its = other[f]!;
      const isSameThing = its.product === product && its.deliverTo === deliverTo && its.madeAt === madeAt;
      return isSameThing && its.due === due && its.freshFrom === freshFrom;
    })
  );
}

/** What a column's pieces stand in while they are retarded; null when they are not. */
export function containerOf({ chain }: FlowColumn): "pan" | "tub" | null {
  if (chain.tubRate > 0) return "tub";
  return chain.links.some((link) => link.does === "retard") ? "pan" : null;
}

/** Where a column's pieces are mixed, stand and are baked, and in what. */
export function placesKey(column: FlowColumn): string {
  const { mixSite, bakeSite, handOver } = column.chain.way;
  return `${mixSite} ${bakeSite} ${handOver === "baked" ? "" : (handOver ?? "")} ${containerOf(column) ?? ""}`;
}

/** Pieces in a full container of a column's retard; 0 when its route has none. */
export function coldEach(column: FlowColumn): number {
  const per = containerOf(column);
  return per ? 1 / rateOf(column.chain, per) : 0;
}
