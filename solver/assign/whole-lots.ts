import type { Balance } from "../network/balance.js";
import type { FlowColumn } from "../network/columns.js";
import type { Family } from "../network/families.js";
import { coldEach, containerOf, placesKey } from "../network/program.js";
import type { Lot, Portion } from "../problem/explode.js";
import type { Prepared } from "../problem/prepare.js";
import { lotFor } from "./fit-lots.js";
import { homeOf } from "./lots.js";

/** One way to make a product for a site, as far as loads are concerned: where, and in what it stands. */
interface Way {
  readonly mix: string;
  readonly bake: string;
  readonly stands: "tub" | "pan" | null;
  /** Pieces by family of the group, as they flow. */
  readonly flow: number[];
  /** Whole containers by the flows, and the pieces that they hold. */
  containers: number;
  each: number;
}

/**
 * Flows in whole containers as lots: a product for a site is split between the ways that the flows use so that none of them needs a container more than
 * it has there. Lines share loads wherever one load can be in time for all of them. They are made in the ways of the flows only.
 */
export function wholeLots(prepared: Prepared, balance: Balance): Lot[] {
  const { families, columns, groups } = balance.program;
  const columnsOf = new Map<number, number[]>();
  columns.forEach(({ family }, c) => {
    columnsOf.set(family, [...(columnsOf.get(family) ?? []), c]);
  });
  // A line that the planner has fixed to a site shares no load with one that is not.
  const alike = groups.flatMap((group) => {
    const sites = [...new Set(group.map((f) => families[f]!.madeAt))];
    return sites.map((site) => group.filter((f) => families[f]!.madeAt === site));
  });
  return alike.flatMap((unsorted) => {
    const group = [...unsorted].sort((a, b) => families[a]!.due - families[b]!.due);
    const own = group.map((f) => families[f]!);
    const ways = waysOf(
      balance,
      group.map((f) => columnsOf.get(f) ?? []),
    );
    if (ways.length === 0) return [homeLot(prepared, own)];
    return lotsOfGroup(prepared, own, ways);
  });
}

function homeLot(prepared: Prepared, group: readonly Family[]): Lot {
  const home = homeOf(prepared, group[0]!);
  const portions = group.flatMap((family) => family.wants.map((want) => ({ want, pieces: want.pieces })));
  return { ...lotFor(prepared, group[0]!, { mix: home, bake: home }), portions };
}

/** The ways that the flows of a group use, most pieces first. */
function waysOf({ program, point }: Balance, columnsOfGroup: readonly (readonly number[])[]): Way[] {
  const ways = new Map<string, Way>();
  columnsOfGroup.forEach((own, i) => {
    for (const c of own) {
      const column = program.columns[c]!;
      const pieces = point.pieces[c]!;
      const per = containerOf(column);
      const spare = per ? point.spare[per][c]! : 0;
      if (pieces < 1e-6 && spare < 1e-6) continue;
      const way = wayOf(ways, column, columnsOfGroup.length);
      way.flow[i] = way.flow[i]! + pieces;
      if (per) way.containers += pieces / way.each + spare;
    }
  });
  const total = (way: Way): number => way.flow.reduce((sum, pieces) => sum + pieces, 0);
  return [...ways.values()].filter((way) => total(way) > 1e-6).sort((a, b) => total(b) - total(a));
}

function wayOf(ways: Map<string, Way>, column: FlowColumn, families: number): Way {
  const key = placesKey(column);
  const known = ways.get(key);
  if (known) return known;
  const { mixSite, bakeSite } = column.chain.way;
  const way: Way = {
    mix: mixSite,
    bake: bakeSite,
    stands: containerOf(column),
    flow: new Array<number>(families).fill(0),
    containers: 0,
    each: coldEach(column),
  };
  ways.set(key, way);
  return way;
}

function lotsOfGroup(prepared: Prepared, group: readonly Family[], ways: readonly Way[]): Lot[] {
  const room = ways.map(({ each, containers }) =>
    each > 0 ? Math.floor(Math.ceil(containers - 1e-3) * each + 1e-6) : Number.POSITIVE_INFINITY,
  );
  const portions = ways.map((): Portion[] => []);
  const carried = ways.map(() => 0);
  group.forEach((family, i) => {
    const taken = split(
      family.pieces,
      ways.map((way, w) => way.flow[i]! + carried[w]!),
      room,
    );
    taken.forEach((pieces, w) => {
      carried[w] = carried[w]! + ways[w]!.flow[i]! - pieces;
      room[w] = room[w]! - pieces;
    });
    const rest = family.wants.map((want) => ({ want, pieces: want.pieces }));
    taken.forEach((pieces, w) => {
      let wanted = pieces;
      for (const portion of rest) {
        const own = Math.min(portion.pieces, wanted);
        if (own <= 0) continue;
        portions[w]!.push({ want: portion.want, pieces: own });
        portion.pieces -= own;
        wanted -= own;
      }
    });
  });
  return ways.flatMap(({ mix, bake, stands }, w) => {
    if (portions[w]!.length === 0) return [];
    const lot = { ...lotFor(prepared, group[0]!, { mix, bake }, stands === "tub"), portions: portions[w]! };
    const retards = stands === null ? null : (`${stands}s` as const);
    return [{ ...lot, onlyWay: { mixSite: mix, bakeSite: bake, retards } }];
  });
}

/** Whole numbers that add up to `total`, as near to what is wanted as each one's room allows; what no room is left for goes to the first. */
function split(total: number, wanted: readonly number[], room: readonly number[]): number[] {
  let left = total;
  const taken = wanted.map((pieces, w) => {
    const own = Math.max(0, Math.min(left, room[w]!, Math.floor(pieces + 1e-6)));
    left -= own;
    return own;
  });
  const byRest = wanted.map((pieces, w) => ({ w, rest: pieces - taken[w]! })).sort((a, b) => b.rest - a.rest);
  for (const { w } of byRest) {
    if (left === 0) break;
    if (taken[w]! >= room[w]!) continue;
    taken[w] = taken[w]! + 1;
    left--;
  }
  taken[0] = taken[0]! + left;
  return taken;
}
