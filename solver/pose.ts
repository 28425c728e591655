import type { DayDocuments } from "../schemas/index.js";
import { fitLots } from "./assign/fit-lots.js";
import { lotsOf } from "./assign/lots.js";
import { mixWaves } from "./assign/mix-waves.js";
import { mixWindows } from "./assign/mix-windows.js";
import { wholeLots } from "./assign/whole-lots.js";
import type { Lp } from "./lp/choose.js";
import { type Balance, type BalanceOptions, balanceFlows } from "./network/balance.js";
import { fewestContainers } from "./network/fewest.js";
import type { NetworkProgram } from "./network/program.js";
import { type Standing, shelfDemand } from "./network/shelf-demand.js";
import { type DayIndex, indexDay, type Want } from "./problem/day-index.js";
import { explodeLot, type LoadSpec, type Lot } from "./problem/explode.js";
import { buildProblem, type Problem } from "./problem/index.js";
import { type Kept, keepLocked } from "./problem/kept.js";
import { keptStanding } from "./problem/kept-standing.js";
import { type Prepared, prepare } from "./problem/prepare.js";
import { type BatchSpec, type SizeOptions, sizeBatches } from "./problem/size.js";
import { createRng } from "./rng.js";
import { construct, type ShouldStop } from "./search/construct.js";
import { Draft } from "./search/draft.js";

/** Names that stay readable: product or dough, and a number that is unique in the day. */
function counter(taken: ReadonlySet<string>): (stem: string) => string {
  let count = 0;
  return (stem) => {
    let name: string;
    do name = `${stem.slice(0, 50)}-${++count}`;
    while (taken.has(name));
    return name;
  };
}

/** What the assignment is asked to keep to. */
export type Plan = Pick<BalanceOptions, "share" | "limits" | "wishCost">;

/** The network program's answer for what is wanted, in whole loads. */
function freshLoads(
  prepared: Prepared,
  wants: readonly Want[],
  taken: ReadonlySet<string>,
  lp: Lp,
  plan: Plan,
  shouldStop: ShouldStop = () => false,
): { balance: Balance; loads: LoadSpec[] } {
  const { index } = prepared;
  const nameLoad = counter(taken);
  const balance = balanceFlows(index, { ...plan, lp, wants, shouldStop });
  if (shouldStop()) return { balance, loads: [] };
  const loads = lotsOf(prepared, balance).flatMap((lot) => explodeLot(index, lot, () => nameLoad(lot.product.id)));
  return { balance, loads };
}

/** New loads and batches for what is wanted, with names that the timetable in force does not have. */
export function freshBatches(
  prepared: Prepared,
  wants: readonly Want[],
  taken: { readonly loads: ReadonlySet<string>; readonly batches: ReadonlySet<string> },
  lp: Lp,
): BatchSpec[] {
  if (wants.length === 0) return [];
  const { balance, loads } = freshLoads(prepared, wants, taken.loads, lp, {});
  const nameBatch = counter(taken.batches);
  const windowOf = mixWindows(prepared.index, balance);
  return sizeBatches(prepared.index, loads, lp, (dough) => nameBatch(`${dough}-b`), { windowOf });
}

/** How a day is posed of which it is asked whether it fits. */
export interface ForFit {
  /** Of what stations, people and stocks offer, and of shelves, how much the flows are planned on. */
  readonly share: number;
  readonly shelfShare: number;
  /** Bowls are filled to a share of their limit at most: small batches are easier to shape in time. */
  readonly bowlShare: number;
  /** The network program of the same day at another multiple, of which most is taken over. */
  readonly like?: NetworkProgram | undefined;
  readonly onFlows?: ((program: NetworkProgram) => void) | undefined;
}

/**
 * A day posed so that all of it fits, if it can, whatever it costs: with as few containers in the fridges as can be, lines in common loads where one
 * load is in time for them, and shelves shared out as the flows ask, first to what will stand there whatever the times.
 */
export function poseForFit(
  day: DayDocuments,
  lp: Lp,
  { share, shelfShare, bowlShare, like, onFlows }: ForFit,
): Problem {
  const index = indexDay(day);
  const kept = keepLocked(index);
  if (kept.wants.length === 0) return buildProblem(prepare(index), kept, kept.batches);
  const balance = fewestContainers(index, { lp, wants: kept.wants, share, shelfShare, like });
  onFlows?.(balance.program);
  const loads = loadsInLots(index, kept, wholeLots(prepare(index), balance));
  const prepared = prepare(index, shelves(index, balance, loads, kept), 0);
  return withBatches(prepared, kept, loads, lp, {
    bowlShare,
    apart: mixWaves(balance),
    windowOf: mixWindows(index, balance),
  });
}

/** Lines in common loads where one load is in time for them, and shelves shared out as the flows ask. */
function inCommonLoads(index: DayIndex, kept: Kept, balance: Balance, lp: Lp): Problem {
  const loads = loadsInLots(index, kept, fitLots(prepare(index), balance));
  return withBatches(prepare(index, likely(shelves(index, balance, loads, kept)), 0), kept, loads, lp, {
    windowOf: mixWindows(index, balance),
  });
}

function loadsInLots(index: DayIndex, kept: Kept, lots: readonly Lot[]): LoadSpec[] {
  const nameLoad = counter(loadsOf(kept));
  return lots.flatMap((lot) => explodeLot(index, lot, () => nameLoad(lot.product.id)));
}

/** What is to stand on the shelves. More tubs than there are need none. */
function shelves(index: DayIndex, balance: Balance, loads: readonly LoadSpec[], kept: Kept): Map<string, Standing> {
  const demand = allShelves(index, balance, loads, kept);
  for (const site of index.day.network.sites)
    for (const { tubType, count } of site.tubs) {
      const key = `${site.id} tub ${tubType}`;
      const own = demand.get(key);
      if (own) demand.set(key, { likely: Math.min(count, own.likely), least: Math.min(count, own.least) });
    }
  return demand;
}

/** What the flows will have on the shelves, and what is kept. */
function allShelves(index: DayIndex, balance: Balance, loads: readonly LoadSpec[], kept: Kept): Map<string, Standing> {
  const demand = shelfDemand(balance, loads);
  for (const [key, count] of keptStanding(index, kept)) {
    const fresh = demand.get(key);
    demand.set(key, { likely: (fresh?.likely ?? 0) + count, least: (fresh?.least ?? 0) + count });
  }
  return demand;
}

/** By what is likely alone: a search that minds money goes its own ways. */
function likely(demand: ReadonlyMap<string, Standing>): Map<string, Standing> {
  return new Map([...demand].map(([key, own]) => [key, { ...own, least: 0 }]));
}

function loadsOf(kept: Kept): Set<string> {
  return new Set(kept.batches.flatMap((batch) => batch.loads.map((load) => load.id)));
}

function withBatches(
  prepared: Prepared,
  kept: Kept,
  loads: readonly LoadSpec[],
  lp: Lp,
  sizing: SizeOptions,
  shouldStop?: ShouldStop,
): Problem {
  const nameBatch = counter(new Set(kept.batches.map((batch) => batch.id)));
  const batches = sizeBatches(prepared.index, loads, lp, (dough) => nameBatch(`${dough}-b`), sizing);
  return buildProblem(prepared, kept, [...kept.batches, ...batches], undefined, shouldStop);
}

/** What a first plan costs, and whether it makes everything: the same for whoever asks, so that searches side by side share a problem. */
function firstPlan({ model }: Problem, shouldStop: ShouldStop): { cost: number; isWhole: boolean } {
  const draft = new Draft(model, createRng(1));
  construct(draft, shouldStop);
  return { cost: draft.state.cost, isWhole: draft.state.shortCost === 0 };
}

/**
 * Orders to a problem: assign, explode, share out the shelves, size (DEVELOPERS.md, The pipeline, up to the search). Where a first plan cannot make all of it
 * line by line, lines share loads if that is the cheaper first plan; not where a plan says which site has which line. Told to stop, it poses only what it has
 * come to: the rest of the orders is short.
 */
export function pose(day: DayDocuments, lp: Lp, plan?: Plan, shouldStop: ShouldStop = () => false): Problem {
  const index = indexDay(day);
  const kept = keepLocked(index);
  if (kept.wants.length === 0) return buildProblem(prepare(index), kept, kept.batches);
  const plain = prepare(index);
  const nothing = (): Problem => buildProblem(plain, kept, kept.batches);
  if (shouldStop()) return nothing();
  const { balance, loads } = freshLoads(plain, kept.wants, loadsOf(kept), lp, plan ?? {}, shouldStop);
  if (shouldStop()) return nothing();
  const shelved = prepare(index, likely(allShelves(index, balance, loads, kept)));
  const byLine = withBatches(shelved, kept, loads, lp, { windowOf: mixWindows(index, balance) }, shouldStop);
  if (plan) return byLine;
  const first = firstPlan(byLine, shouldStop);
  if (first.isWhole || shouldStop()) return byLine;
  const inCommon = inCommonLoads(index, kept, balance, lp);
  if (shouldStop()) return byLine;
  return firstPlan(inCommon, shouldStop).cost < first.cost && !shouldStop() ? inCommon : byLine;
}
