import { type Hold, MAX_OPERATIONS, type Operation, type SearchModel } from "../../../solver/search/model.js";
import type { PlanCopy } from "../../../solver/search/plan.js";

/** A shop in the published sets' terms. Machines are numbered from 0, minutes are the set's own unit of time. */
export interface Shop {
  readonly machines: number;
  readonly jobs: readonly Job[];
  /** Between the end of an operation and the start of the next. */
  readonly greatestWait: number;
  /** [machine][before][after]: set-up between jobs; undefined: none. */
  readonly setups?: readonly (readonly (readonly number[])[])[];
  /** Identical shops side by side; a job is made in one of them. Default 1. */
  readonly sites?: number;
}

export interface Job {
  /** In order; each on one of its machines. */
  readonly operations: readonly (readonly { readonly machine: number; readonly minutes: number }[])[];
  /** For total tardiness; undefined: only the makespan counts. */
  readonly due?: number;
}

/** Where and when each operation of a job is. */
export type Placed = readonly { readonly machine: number; readonly start: number; readonly end: number }[];

const NONE = new Int32Array(0);

/** Longer chains do not fit the search: a batch's mix and MAX_OPERATIONS operations. */
export function fitsSearch(shop: Shop): boolean {
  return shop.jobs.every(({ operations }) => operations.length >= 2 && operations.length <= MAX_OPERATIONS + 1);
}

/** A row for each machine; with set-ups for each machine and job, so that every pair of jobs can have its own. */
function rowOf(shop: Shop, machine: number, job: number): number {
  return shop.setups ? machine * shop.jobs.length + job : machine;
}

/** All machines of all sites. */
function machineCount(shop: Shop): number {
  return shop.machines * (shop.sites ?? 1);
}

function conflictsOf(shop: Shop, rowCount: number): Int32Array[] {
  const conflicts = Array.from({ length: rowCount }, () => NONE);
  const { setups, jobs } = shop;
  if (!setups) return conflicts;
  for (let machine = 0; machine < machineCount(shop); machine++) {
    const own = setups[machine % shop.machines]!;
    jobs.forEach((_, j) => {
      conflicts[rowOf(shop, machine, j)] = Int32Array.from(
        jobs.flatMap((__, i) => (i === j ? [] : [rowOf(shop, machine, i), own[i]![j]!, own[j]![i]!])),
      );
    });
  }
  return conflicts;
}

/**
 * The shop in the kitchen's terms: a job is a load with a batch of its own, its first operation the mix, its last the bake. By the deadline everything
 * is due; every minute until a job is done costs a little, beyond the deadline much (with due times: each minute late costs one).
 */
export function shopModel(shop: Shop, deadline: number, horizon: number): SearchModel {
  const sites = shop.sites ?? 1;
  const rowCount = machineCount(shop) * (shop.setups ? shop.jobs.length : 1);
  const hold: Hold = {
    least: 0,
    greatest: Math.min(shop.greatestWait, horizon),
    rows: NONE,
    amount: 0,
    heatRows: NONE,
    heatAmount: 0,
    heatMinutes: 0,
    ride: null,
  };
  const anyTime = { from: 0, to: horizon };
  const bySite = Array.from({ length: sites }, (_, site) => site);
  const heaterOfRow = Int32Array.from({ length: rowCount }, (_, row) =>
    shop.setups ? Math.floor(row / shop.jobs.length) : row,
  );
  const byDeadline = Int32Array.from({ length: horizon + 1 }, (_, t) => t + 100 * Math.max(0, t - deadline));
  return {
    horizon,
    rowCount,
    capacity: new Int32Array(rowCount * horizon).fill(1),
    conflicts: conflictsOf(shop, rowCount),
    standstills: Array.from({ length: rowCount }, () => NONE),
    heaterOfRow,
    classOfRow: new Int32Array(rowCount),
    overtimeOfRow: new Array<null>(rowCount).fill(null),
    heaters: Array.from({ length: machineCount(shop) }, () => ({
      leadMinutes: 0,
      costPerMinute: 0,
      changeCost: 0,
      stretches: Int32Array.of(0, horizon),
      noLead: NONE,
    })),
    trips: [],
    batches: shop.jobs.map(({ operations }, j) => ({
      options: bySite.flatMap((site) =>
        operations[0]!.map(({ machine, minutes }) => {
          const row = rowOf(shop, site * shop.machines + machine, j);
          return { site, row, minutes, crew: null, ...anyTime };
        }),
      ),
      loads: Int32Array.of(j),
      pinned: false,
    })),
    loads: shop.jobs.map(({ operations, due }, j) => ({
      batch: j,
      dropCost: 200 * horizon,
      pinned: false,
      lateCost:
        due === undefined ? byDeadline : Int32Array.from({ length: horizon + 1 }, (_, t) => Math.max(0, t - due)),
      earlyCost: new Int32Array(horizon + 1),
      modes: bySite.map((site) => ({
        site,
        holds: operations.slice(1).map(() => hold),
        operations: operations.slice(1).map(
          (alternatives): Operation => ({
            alternatives: alternatives.map(({ machine, minutes }) => ({
              row: rowOf(shop, site * shop.machines + machine, j),
              amount: 1,
              minutes,
            })),
            crew: null,
            ...anyTime,
          }),
        ),
        anchor: operations.length - 2,
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

/** A plan in the set's terms; null for a job that is not made. */
export function placedJobs(shop: Shop, model: SearchModel, plan: PlanCopy): (Placed | null)[] {
  const machineOf = (row: number): number => (shop.setups ? Math.floor(row / shop.jobs.length) : row);
  return model.loads.map((load, j) => {
    if (plan.mode[j]! < 0) return null;
    const option = model.batches[j]!.options[plan.mixOption[j]!]!;
    const first = plan.mixStart[j]!;
    const operations = load.modes[plan.mode[j]!]!.operations.map(({ alternatives }, k) => {
      const { row, minutes } = alternatives[plan.alternative[j * MAX_OPERATIONS + k]!]!;
      const start = plan.start[j * MAX_OPERATIONS + k]!;
      return { machine: machineOf(row), start, end: start + minutes };
    });
    return [{ machine: machineOf(option.row), start: first, end: first + option.minutes }, ...operations];
  });
}

/** Checks a plan against the set's own rules, apart from the search; returns what is wrong. */
export function checkShop(shop: Shop, placed: readonly (Placed | null)[]): string[] {
  const wrong: string[] = [];
  const onMachine: { job: number; start: number; end: number }[][] = Array.from(
    { length: machineCount(shop) },
    () => [],
  );
  placed.forEach((operations, job) => {
    if (!operations) {
      wrong.push(`job ${job} is not made`);
      return;
    }
    const site = Math.floor(operations[0]!.machine / shop.machines);
    operations.forEach(({ machine, start, end }, k) => {
      const allowed = shop.jobs[job]!.operations[k]!.some(
        (choice) => site * shop.machines + choice.machine === machine && choice.minutes === end - start,
      );
      if (!allowed) wrong.push(`job ${job} operation ${k} is on machine ${machine} for ${end - start}`);
      const wait = k === 0 ? 0 : start - operations[k - 1]!.end;
      if (start < 0 || wait < 0 || wait > shop.greatestWait) wrong.push(`job ${job} waits ${wait} before ${k}`);
      onMachine[machine]!.push({ job, start, end });
    });
  });
  onMachine.forEach((work, machine) => {
    work.sort((a, b) => a.start - b.start);
    for (let i = 1; i < work.length; i++) {
      const setup = shop.setups?.[machine % shop.machines]?.[work[i - 1]!.job]?.[work[i]!.job] ?? 0;
      if (work[i]!.start < work[i - 1]!.end + setup)
        wrong.push(`machine ${machine}: job ${work[i]!.job} follows ${work[i - 1]!.job} too soon`);
    }
  });
  return wrong;
}
