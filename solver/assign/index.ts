import type { Lp } from "../lp/choose.js";
import { LpBuilder } from "../lp/model.js";
import { fullPan } from "../problem/containers.js";
import type { Want } from "../problem/day-index.js";
import type { Lot, Portion } from "../problem/explode.js";
import type { MadeMode } from "../problem/modes.js";
import type { Prepared } from "../problem/prepare.js";
import { MILLS } from "../problem/site-rows.js";
import { BUCKET_MINUTES, Pools } from "./capacity.js";
import { type MixingMinutes, type NominalPlan, nominalPlan } from "./nominal.js";
import { type Family, families } from "./options.js";

/** How much earlier than just in time a pan may be made, as the columns of the program. */
const EARLIER_MINUTES = [0, 60, 120, 180];
const LATER_MINUTES = [60, 120, 180, 240, 360, 480];
/** Room is never used to the last minute: part loads, waits, changes of temperature. */
const USABLE_SHARE = 0.85;
/** What an amount-minute beyond the room costs, thousandths: more than any detour, less than a short pan. */
const OVERLOAD_COST = 60;
/** A family is split between sites only in parts of at least so many loads. */
const LEAST_PART_LOADS = 1;

interface Choice {
  readonly family: number;
  readonly way: number;
  readonly plan: NominalPlan;
  readonly column: number;
}

function mixingMinutes(prepared: Prepared): MixingMinutes {
  const { index, book, request } = prepared;
  const skills = new Set(index.day.catalogue.doughs.map((dough) => dough.mixSkill));
  return new Map(
    [...request.rows.values()].map(({ site, crew }) => {
      const minutes = new Uint8Array(index.horizon);
      const groups = site.crew.filter((group) => group.skills.some((skill) => skills.has(skill)));
      for (const group of groups) {
        for (let t = 0; t < index.horizon; t++) if (book.at(crew.get(group.id)!, t) > 0) minutes[t] = 1;
      }
      return [site.id, site.mixers.length > 0 ? minutes : new Uint8Array(index.horizon)];
    }),
  );
}

/** Cost of one pan made so, thousandths: being late, riding, half of a deck kept on for it, standing about. */
function panCost(prepared: Prepared, family: Family, made: MadeMode, plan: NominalPlan): number {
  const { weights } = prepared.index;
  const perPan = family.pieces / family.pans;
  const priority = Math.max(...family.wants.map((want) => want.priority));
  const late = Math.max(0, plan.delivered - family.due);
  let cost = ((perPan * priority * weights.latePerPieceHour * late) / 60) * MILLS;
  if (made.meaning.trip) {
    const { run } = made.meaning.trip;
    cost += ((run.cost * made.mode.tripAmount) / run.positions) * MILLS;
  }
  const bake = made.mode.operations[made.mode.anchor]!.alternatives[0]!;
  const heater = prepared.book.heaters[prepared.book.heaterAt(bake.row)]!;
  cost += (heater.costPerMinute * bake.minutes) / 2;
  return cost + Math.max(0, family.due - plan.finish - weights.freshForMinutes) * 0.5;
}

/** The columns of the program: each way of each family, just in time, earlier, and late only when nothing else will do. */
function choicesOf(prepared: Prepared, builder: LpBuilder, all: readonly Family[]): Choice[] {
  const mixing = mixingMinutes(prepared);
  const choices: Choice[] = [];
  all.forEach((family, f) => {
    const fresh = Math.max(...family.wants.map((want) => want.due - want.freshWithinMinutes));
    family.ways.forEach((made, way) => {
      const latest = Math.min(family.due, made.mode.finishBy);
      const tryAt = (finish: number): boolean => {
        const plan = finish < fresh || finish > made.mode.finishBy ? null : nominalPlan(mixing, made, finish);
        if (!plan) return false;
        const column = builder.addColumn({ cost: panCost(prepared, family, made, plan), lower: 0, upper: family.pans });
        choices.push({ family: f, way, plan, column });
        return true;
      };
      const found = EARLIER_MINUTES.filter((earlier) => tryAt(latest - earlier)).length;
      if (found === 0) LATER_MINUTES.some((later) => tryAt(latest + later));
    });
  });
  return choices;
}

/** What is used of a pool in an hour is at most what it offers, or pays. */
function addPools(prepared: Prepared, builder: LpBuilder, choices: readonly Choice[]): void {
  const pools = new Pools(prepared);
  const uses = new Map<number, [column: number, amountMinutes: number][]>();
  const buckets = Math.ceil(prepared.book.horizon / BUCKET_MINUTES);
  for (const { plan, column } of choices) {
    for (const { row, amount, from, to } of plan.usages) {
      const pool = pools.poolOf(row);
      if (pool < 0) continue;
      for (
        let bucket = Math.floor(Math.max(0, from) / BUCKET_MINUTES);
        bucket < buckets && bucket * BUCKET_MINUTES < to;
        bucket++
      ) {
        const overlap = Math.min(to, (bucket + 1) * BUCKET_MINUTES) - Math.max(from, bucket * BUCKET_MINUTES);
        const key = pool * buckets + bucket;
        let entries = uses.get(key);
        if (!entries) {
          entries = [];
          uses.set(key, entries);
        }
        // What one column uses of a pool in an hour follows each other: choices come column by column.
        const last = entries.at(-1);
        const used = amount * pools.shareOf(row) * overlap;
        if (last?.[0] === column) last[1] += used;
        else entries.push([column, used]);
      }
    }
  }
  for (const [key, entries] of uses) {
    const overload = builder.addColumn({ cost: OVERLOAD_COST, lower: 0, upper: Number.POSITIVE_INFINITY });
    const limit = pools.pools[Math.floor(key / buckets)]!.offered[key % buckets]! * USABLE_SHARE;
    entries.push([overload, -1]);
    builder.addRow({ lower: Number.NEGATIVE_INFINITY, upper: limit }, entries);
  }
}

function addTrips(prepared: Prepared, builder: LpBuilder, all: readonly Family[], choices: readonly Choice[]): void {
  const riding: [number, number][][] = prepared.trips.map(() => []);
  for (const { family, way, column } of choices) {
    const { mode } = all[family]!.ways[way]!;
    if (mode.trip >= 0) riding[mode.trip]!.push([column, mode.tripAmount]);
  }
  prepared.trips.forEach(({ row }, trip) => {
    const entries = riding[trip]!;
    if (entries.length === 0) return;
    builder.addRow({ lower: Number.NEGATIVE_INFINITY, upper: prepared.book.at(row, 0) }, entries);
  });
}

/** Pans of each family by mixing site, as the program would have them; an empty map when it has no answer. */
function pansBySite(prepared: Prepared, all: readonly Family[], lp: Lp): Map<string, number>[] {
  const builder = new LpBuilder();
  const choices = choicesOf(prepared, builder, all);
  const ofFamily: [number, number][][] = all.map(() => []);
  for (const { family, column } of choices) ofFamily[family]!.push([column, 1]);
  all.forEach((family, f) => {
    const perPan = family.pieces / Math.max(family.pans, 1e-9);
    const priority = Math.max(...family.wants.map((want) => want.priority));
    const short = builder.addColumn({
      cost: perPan * priority * prepared.index.weights.shortPerPiece * MILLS,
      lower: 0,
      upper: Number.POSITIVE_INFINITY,
    });
    builder.addRow({ lower: family.pans, upper: Number.POSITIVE_INFINITY }, [...ofFamily[f]!, [short, 1]]);
  });
  addPools(prepared, builder, choices);
  addTrips(prepared, builder, all, choices);
  const result = lp(builder.build(), { seconds: 20 });
  const bySite = all.map(() => new Map<string, number>());
  if (result.status !== "optimal") return bySite;
  for (const { family, way, column } of choices) {
    const pans = result.columns[column]!;
    if (pans < 1e-6) continue;
    const site = all[family]!.ways[way]!.meaning.mixSite;
    bySite[family]!.set(site, (bySite[family]!.get(site) ?? 0) + pans);
  }
  return bySite;
}

/** The most pans of the product that one deck takes, over the ways with a mixing site. */
function largestLoad(prepared: Prepared, family: Family, mixSite: string): number {
  let most = 1;
  for (const { meaning, mode } of family.ways) {
    if (meaning.mixSite !== mixSite) continue;
    for (const { row } of mode.operations[mode.anchor]!.alternatives) {
      for (let t = 0; t < prepared.book.horizon; t += 30) most = Math.max(most, prepared.book.at(row, t));
    }
  }
  return Math.min(most, prepared.index.maxPansPerLoad);
}

/** Splits a family's lines between mixing sites, the greatest part first, in whole pans. */
function splitFamily(prepared: Prepared, family: Family, shares: ReadonlyMap<string, number>): Map<string, Portion[]> {
  const parts = new Map<string, Portion[]>();
  const usable = [...shares].filter(([site, pans]) => pans >= LEAST_PART_LOADS * largestLoad(prepared, family, site));
  const sorted = (usable.length > 0 ? usable : [...shares]).sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
  const chosen = usable.length > 0 ? sorted : sorted.slice(0, 1);
  const fallback = family.ways[0]?.meaning.mixSite ?? family.deliverTo;
  if (chosen.length === 0)
    return parts.set(
      fallback,
      family.wants.map((want) => ({ want, pieces: want.pieces })),
    );
  const perPan = fullPan(prepared.index, prepared.index.products.get(family.product)!);
  const total = chosen.reduce((sum, [, pans]) => sum + pans, 0);
  const rest = family.wants.map((want) => ({ want, pieces: want.pieces }));
  chosen.forEach(([site, pans], i) => {
    let wanted = i === chosen.length - 1 ? Number.POSITIVE_INFINITY : Math.round((family.pans * pans) / total) * perPan;
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

/**
 * Decides which site makes what: one linear program over all families, hours, stations and van runs at just-in-time
 * instants, its answer rounded to whole loads. The search keeps the mixing site as a first choice, not as a rule.
 */
export function assign(prepared: Prepared, wants: readonly Want[], lp: Lp): Lot[] {
  const all = families(prepared, wants);
  const shares = pansBySite(prepared, all, lp);
  const lots = new Map<string, { family: Family; mixSite: string; portions: Portion[] }>();
  all.forEach((family, f) => {
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
    maxPans: largestLoad(prepared, family, mixSite),
  }));
}
