import { createRng } from "../../solver/rng.js";
import { anneal } from "../../solver/search/anneal.js";
import { construct } from "../../solver/search/construct.js";
import { Draft } from "../../solver/search/draft.js";
import type { Hold, Operation, SearchModel } from "../../solver/search/model.js";

/** A flow shop of stages in the kitchen's terms: jobs are loads of a batch each, the first stage mixes, the last bakes. */
export interface FlowShop {
  /** [job][stage] */
  readonly times: readonly (readonly number[])[];
  readonly machinesPerStage: readonly number[];
  /** Greatest wait between stages. */
  readonly maxWait: number;
  /** Identical shops side by side (sites); a job is made in one of them. */
  readonly sites: number;
}

const NONE = new Int32Array(0);

/** The shop as a search model in which every job is due at `deadline`, and costs a little for every minute until it is done. */
export function flowShopModel(shop: FlowShop, deadline: number): SearchModel {
  const horizon = 2 * deadline;
  const stages = shop.machinesPerStage.length;
  const perSite = shop.machinesPerStage.reduce((sum, count) => sum + count, 0);
  const rowCount = perSite * shop.sites;
  const rowsOf = (site: number, stage: number): number[] => {
    const first = site * perSite + shop.machinesPerStage.slice(0, stage).reduce((sum, count) => sum + count, 0);
    return Array.from({ length: shop.machinesPerStage[stage]! }, (_, i) => first + i);
  };
  const hold: Hold = {
    least: 0,
    greatest: Math.min(shop.maxWait, horizon),
    rows: NONE,
    amount: 0,
    heatRows: NONE,
    heatAmount: 0,
    heatMinutes: 0,
    ride: null,
  };
  const heaterRows = Array.from({ length: shop.sites }, (_, site) => rowsOf(site, stages - 1)).flat();
  const heaterOfRow = new Int32Array(rowCount).fill(-1);
  heaterRows.forEach((row, h) => {
    heaterOfRow[row] = h;
  });
  const byDeadline = Int32Array.from({ length: horizon + 1 }, (_, t) => t + 100 * Math.max(0, t - deadline));
  return {
    horizon,
    rowCount,
    capacity: new Int32Array(rowCount * horizon).fill(1),
    conflicts: Array.from({ length: rowCount }, () => NONE),
    standstills: Array.from({ length: rowCount }, () => NONE),
    heaterOfRow,
    classOfRow: new Int32Array(rowCount),
    overtimeOfRow: new Array<null>(rowCount).fill(null),
    heaters: heaterRows.map(() => ({
      leadMinutes: 0,
      costPerMinute: 0,
      changeCost: 0,
      stretches: Int32Array.of(0, horizon),
      noLead: NONE,
    })),
    trips: [],
    batches: shop.times.map((times, job) => ({
      options: Array.from({ length: shop.sites }, (_, site) =>
        rowsOf(site, 0).map((row) => ({ site, row, minutes: times[0]!, crew: null, from: 0, to: horizon })),
      ).flat(),
      loads: Int32Array.of(job),
      pinned: false,
    })),
    loads: shop.times.map((times, job) => ({
      batch: job,
      dropCost: 200 * horizon,
      pinned: false,
      lateCost: byDeadline,
      earlyCost: new Int32Array(horizon + 1),
      modes: Array.from({ length: shop.sites }, (_, site) => ({
        site,
        holds: Array.from({ length: stages - 1 }, () => hold),
        operations: Array.from(
          { length: stages - 1 },
          (_, k): Operation => ({
            alternatives: rowsOf(site, k + 1).map((row) => ({ row, amount: 1, minutes: times[k + 1]! })),
            crew: null,
            from: 0,
            to: horizon,
          }),
        ),
        anchor: stages - 2,
        spans: [],
        warmFrom: -1,
        warmMinutes: horizon,
        trip: -1,
        tripAmount: 0,
        finishBy: horizon,
        deliveredAt: -1,
      })),
    })),
  };
}

/** Is there a plan with every job done by the deadline? False: none was found in so many tries. */
export function makespanWithin(shop: FlowShop, deadline: number, tries: number): boolean {
  for (let seed = 1; seed <= 3; seed++) {
    const draft = new Draft(flowShopModel(shop, deadline), createRng(seed));
    construct(draft);
    const isWithin = (finish: Int32Array): boolean => finish.every((end) => end >= 0 && end <= deadline);
    let isDone = isWithin(draft.state.finish);
    anneal(draft, {
      hot: 10,
      cold: 0.2,
      shortShare: 1,
      progress: (i) => (isDone ? 1 : i / tries),
      onBetter: (plan) => {
        if (isWithin(plan.finish)) isDone = true;
      },
    });
    if (isDone) return true;
  }
  return false;
}

/** The least makespan that a falling deadline finds. */
export function leastMakespan(shop: FlowShop, from: number, floor: number, tries: number): number {
  let best = Number.POSITIVE_INFINITY;
  let low = floor;
  let high = from;
  while (low < high) {
    const middle = Math.floor((low + high) / 2);
    if (makespanWithin(shop, middle, tries)) {
      best = middle;
      high = middle;
    } else low = middle + 1;
  }
  return Number.isFinite(best) ? best : from;
}
