import type { DayIndex } from "../problem/day-index.js";
import { ChainMaker, type MadeChain } from "./chains.js";
import type { Family } from "./families.js";
import type { Kitchen } from "./kitchen.js";
import type { Edge, Need, Use } from "./needs.js";
import { waysOf } from "./ways.js";
import { type Windows, windowsOf } from "./windows.js";

/** Pieces of a family made in one way with the bake starting in [bakeFrom, bakeTo]. */
export interface FlowColumn {
  readonly family: number;
  readonly chain: MadeChain;
  readonly bakeFrom: number;
  readonly bakeTo: number;
  readonly windows: Windows;
  readonly uses: readonly Use[];
}

export interface ColumnOptions {
  /** Length of the slots that a bake's start is divided into. */
  readonly stepMinutes: number;
  /** Minutes after due up to which lateness is looked at; 0: on time or not at all. */
  readonly lateMinutes: number;
}

/** All columns of all families: every plan's pieces lie in one of them. */
export function columnsOf(
  index: DayIndex,
  kitchen: Kitchen,
  families: readonly Family[],
  options: ColumnOptions,
): FlowColumn[] {
  const chains = new Map<string, MadeChain[]>();
  return families.flatMap((family, f) => {
    const latest = Math.min(index.horizon, family.due + options.lateMinutes);
    return waysOf(index, family, latest).flatMap((way) => {
      const key = `${family.product} ${way.route.id} ${way.mixSite} ${way.bakeSite} ${way.handOver} ${way.trip?.id}`;
      let made = chains.get(key);
      if (!made) {
        const chain = new ChainMaker(kitchen, family, way).make();
        made = chain ? [chain] : [];
        chains.set(key, made);
      }
      return made.flatMap((chain) => slots(index, chain, family, f, latest, options.stepMinutes));
    });
  });
}

function slots(
  index: DayIndex,
  chain: MadeChain,
  family: Family,
  f: number,
  latest: number,
  step: number,
): FlowColumn[] {
  const { trip, handOver } = chain.way;
  const finishBy = handOver === "baked" ? trip!.leave : latest;
  const finish = { from: Math.max(0, family.freshFrom), to: Math.min(index.horizon, finishBy) };
  const whole = windowsOf(chain, index.horizon, { from: 0, to: index.horizon }, finish);
  if (!whole) return [];
  const first = whole.startFrom[chain.bake]!;
  const last = whole.startTo[chain.bake]!;
  const columns: FlowColumn[] = [];
  for (let from = first; from <= last; ) {
    const to = Math.min(last, (Math.floor(from / step) + 1) * step - 1);
    const windows = windowsOf(chain, index.horizon, { from, to }, finish);
    if (windows) {
      const uses = chain.needs.map((need) => useOf(need, windows));
      columns.push({ family: f, chain, bakeFrom: from, bakeTo: to, windows, uses });
    }
    from = to + 1;
  }
  return columns;
}

function edge(at: Edge, windows: Windows): [number, number] {
  if ("minute" in at) return [at.minute, at.minute];
  return at.at === "start"
    ? [windows.startFrom[at.link]!, windows.startTo[at.link]!]
    : [windows.endFrom[at.link]!, windows.endTo[at.link]!];
}

function useOf(need: Need, windows: Windows): Use {
  if (need.kind === "stay") {
    const [startFrom, startTo] = edge(need.from, windows);
    const [endFrom, endTo] = edge(need.to, windows);
    const { per, pool, perPiece, leastMinutes } = need;
    return { per, pool, startFrom, startTo, endFrom, endTo, sizes: null, leastMinutes, perPiece };
  }
  const startFrom = windows.startFrom[need.link]!;
  const startTo = windows.startTo[need.link]!;
  const isPart = need.firstMinutes > 0;
  return {
    per: need.per,
    pool: need.pool,
    startFrom,
    startTo,
    endFrom: isPart ? startFrom : windows.endFrom[need.link]!,
    endTo: isPart ? startTo + need.firstMinutes : windows.endTo[need.link]!,
    sizes: need.sizes,
    leastMinutes: 0,
    perPiece: 0,
  };
}
