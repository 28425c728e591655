import type { Dough, Site } from "../../schemas/index.js";
import type { Lp } from "../lp/choose.js";
import { LpBuilder } from "../lp/model.js";
import { leastBatchG, mixerLimitG } from "../trade/dough.js";
import type { DayIndex } from "./day-index.js";
import type { LoadSpec } from "./explode.js";

/** Loads that are mixed together. */
export interface BatchSpec {
  readonly id: string;
  readonly dough: string;
  readonly mixSite: string;
  readonly loads: readonly LoadSpec[];
}

/** Minutes of the window within which a mix must begin. */
export interface MixWindow {
  readonly from: number;
  readonly to: number;
}

/** A mixer size of a site, for one dough. */
interface BowlSize {
  readonly leastG: number;
  readonly greatestG: number;
  readonly mixers: number;
}

function bowlSizes(site: Site, dough: Dough, share: number): BowlSize[] {
  const sizes = new Map<string, BowlSize>();
  for (const mixer of site.mixers) {
    const limitG = mixerLimitG(mixer, dough.absorptionPercent);
    const leastG = leastBatchG(mixer, dough);
    if (limitG === null || limitG < leastG) continue;
    const greatestG = Math.max(leastG, limitG * share);
    const key = `${leastG} ${greatestG}`;
    sizes.set(key, { leastG, greatestG, mixers: (sizes.get(key)?.mixers ?? 0) + 1 });
  }
  return [...sizes.values()].sort((a, b) => b.greatestG - a.greatestG);
}

/**
 * How many runs of each bowl size make `totalG`: the fewest mixing minutes, then the least dough beyond need. An integer program of two or three
 * columns. Returns one entry per run, the greatest bowl first.
 */
export function chooseRuns(totalG: number, sizes: readonly BowlSize[], lp: Lp): BowlSize[] {
  const builder = new LpBuilder();
  const greatest = sizes[0]!.greatestG;
  const columns = sizes.map((size) =>
    builder.addColumn({
      cost: 1 + 0.1 * (size.greatestG / greatest),
      lower: 0,
      upper: Math.ceil(totalG / size.greatestG),
      integer: true,
    }),
  );
  builder.addRow(
    { lower: totalG / greatest, upper: Number.POSITIVE_INFINITY },
    sizes.map((size, i) => [columns[i]!, size.greatestG / greatest] as const),
  );
  const result = lp(builder.build(), { seconds: 1 });
  if (result.status !== "optimal") return Array.from({ length: Math.ceil(totalG / greatest) }, () => sizes[0]!);
  return sizes.flatMap((size, i) => Array.from({ length: Math.round(result.columns[columns[i]!]!) }, () => size));
}

/** Latest due first would split doughs that belong together; loads are mixed in the order in which they are due. */
function dueOf(load: LoadSpec): number {
  return Math.min(...load.portions.map(({ want }) => want.due));
}

/** Fills runs with loads in due order, opening another run when granularity leaves one over. */
function fillRuns(loads: readonly LoadSpec[], runs: readonly BowlSize[], sizes: readonly BowlSize[]): LoadSpec[][] {
  const dues = new Map(loads.map((load) => [load, dueOf(load)]));
  const rest: (LoadSpec | undefined)[] = [...loads].sort(
    (a, b) => dues.get(a)! - dues.get(b)! || (a.id < b.id ? -1 : 1),
  );
  let leastG = Number.POSITIVE_INFINITY;
  for (const { doughG } of loads) leastG = Math.min(leastG, doughG);
  /** Of `rest`: all before are in a run. */
  let first = 0;
  const bowls = [...runs];
  const filled: LoadSpec[][] = [];
  const totalG = loads.reduce((sum, load) => sum + load.doughG, 0);
  const evenG = totalG / runs.length;
  while (true) {
    while (first < rest.length && !rest[first]) first++;
    if (first === rest.length) return filled;
    const bowl = bowls.shift() ?? sizes[0]!;
    const batch: LoadSpec[] = [];
    let massG = 0;
    // An even share leaves no run with a remnant below the least batch.
    const aimG = Math.min(bowl.greatestG, Math.max(evenG * 1.05, bowl.leastG));
    const mostG = bowls.length === 0 ? bowl.greatestG : aimG;
    for (let i = first; i < rest.length; i++) {
      const load = rest[i];
      if (!load) continue;
      if (massG + load.doughG <= bowl.greatestG && (massG === 0 || massG + load.doughG <= aimG || bowls.length === 0)) {
        batch.push(load);
        massG += load.doughG;
        rest[i] = undefined;
      }
      // Nor is there room for the least of them.
      if (massG >= aimG || (massG > 0 && massG + leastG > mostG)) break;
    }
    if (batch.length === 0) {
      batch.push(rest[first]!);
      rest[first] = undefined;
    }
    filled.push(batch);
  }
}

/** Loads in as few parts as can be, each with a minute at which all of it can be mixed. */
function partsInTime(loads: readonly LoadSpec[], windowOf: (load: LoadSpec) => MixWindow | null): LoadSpec[][] {
  const anyTime: LoadSpec[] = [];
  const rest: { load: LoadSpec; window: MixWindow }[] = [];
  for (const load of loads) {
    const window = windowOf(load);
    if (window) rest.push({ load, window });
    else anyTime.push(load);
  }
  rest.sort((a, b) => a.window.to - b.window.to || (a.load.id < b.load.id ? -1 : 1));
  const parts: { load: LoadSpec; window: MixWindow }[][] = [];
  for (const one of rest) {
    const part = parts.at(-1);
    if (part && one.window.from <= part[0]!.window.to) part.push(one);
    else parts.push([one]);
  }
  // What is late whatever is done goes with what is due last.
  const groups = parts.map((part) => part.map(({ load }) => load));
  if (groups.length === 0) return [anyTime];
  groups.at(-1)!.push(...anyTime);
  return groups;
}

/** What batches are sized by, beside the loads. */
export interface SizeOptions {
  /** Bowls are filled to a share of their limit at most. Default 1. */
  readonly bowlShare?: number | undefined;
  /** Loads with other numbers share no batch. */
  readonly apart?: ((load: LoadSpec) => number) | undefined;
  /** When a load must be mixed to be on time: a batch that would have no minute for all its loads is made in parts. */
  readonly windowOf?: ((load: LoadSpec) => MixWindow | null) | undefined;
}

/** Sizes the batches of every dough at every site: which loads are mixed together. */
export function sizeBatches(
  index: DayIndex,
  loads: readonly LoadSpec[],
  lp: Lp,
  nextId: (dough: string) => string,
  { bowlShare = 1, apart, windowOf }: SizeOptions = {},
): BatchSpec[] {
  const groups = new Map<string, LoadSpec[]>();
  for (const load of loads) {
    const key = `${index.products.get(load.product)!.dough} ${load.mixSite} ${apart?.(load) ?? ""}`;
    const group = groups.get(key);
    if (group) group.push(load);
    else groups.set(key, [load]);
  }
  const batches: BatchSpec[] = [];
  for (const [key, group] of groups) {
    const [doughId, mixSite] = key.split(" ") as [string, string];
    const sizes = bowlSizes(index.sites.get(mixSite)!, index.doughs.get(doughId)!, bowlShare);
    if (sizes.length === 0) {
      // No bowl there takes it: the problem builder says so, or finds another site.
      batches.push({ id: nextId(doughId), dough: doughId, mixSite, loads: group });
      continue;
    }
    const fill = (part: readonly LoadSpec[]): LoadSpec[][] => {
      const totalG = part.reduce((sum, load) => sum + load.doughG, 0);
      return fillRuns(part, chooseRuns(totalG, sizes, lp), sizes);
    };
    const together = fill(group);
    const isInTime = !windowOf || together.every((batch) => partsInTime(batch, windowOf).length === 1);
    const filled = isInTime ? together : partsInTime(group, windowOf).flatMap(fill);
    for (const batch of filled) batches.push({ id: nextId(doughId), dough: doughId, mixSite, loads: batch });
  }
  return batches;
}
