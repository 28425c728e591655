import type { FlowColumn } from "./columns.js";
import type { Family } from "./families.js";

/** A load that is to serve several lines has at least so many minutes in which it can be finished. */
export const IN_COMMON_MINUTES = 90;

/** When a family's pieces made along one chain start to bake and are finished, minutes of the window. */
interface Span {
  bakeFrom: number;
  bakeTo: number;
  endFrom: number;
  endTo: number;
}

/**
 * Families by number, those together that can have loads in common: of one product for one site, and, by one chain or over others between them, with a
 * time at which one load is fresh enough and in time for both. No load serves two groups, so their pans and tubs are counted apart. `leastMinutes`: so
 * long a time; minus infinity: all of a product for a site are one group.
 */
export function groupsInCommon(
  families: readonly Family[],
  columns: readonly FlowColumn[],
  leastMinutes: number,
): number[][] {
  const spans = families.map(() => new Map<FlowColumn["chain"], Span>());
  for (const { family, chain, bakeFrom, bakeTo, windows } of columns) {
    const last = chain.links.length - 1;
    const endFrom = windows.endFrom[last]!;
    const endTo = windows.endTo[last]!;
    const known = spans[family]!.get(chain);
    if (!known) {
      spans[family]!.set(chain, { bakeFrom, bakeTo, endFrom, endTo });
      continue;
    }
    known.bakeFrom = Math.min(known.bakeFrom, bakeFrom);
    known.bakeTo = Math.max(known.bakeTo, bakeTo);
    known.endFrom = Math.min(known.endFrom, endFrom);
    known.endTo = Math.max(known.endTo, endTo);
  }
  const haveInCommon = (f: number, g: number): boolean => {
    if (leastMinutes === Number.NEGATIVE_INFINITY) return true;
    for (const [chain, own] of spans[f]!) {
      const its = spans[g]!.get(chain);
      if (!its) continue;
      const finish = Math.min(own.endTo, its.endTo) - Math.max(own.endFrom, its.endFrom);
      const bake = Math.min(own.bakeTo, its.bakeTo) - Math.max(own.bakeFrom, its.bakeFrom);
      if (bake >= 0 && finish >= leastMinutes) return true;
    }
    return false;
  };
  const groups: { key: string; members: number[] }[] = [];
  families.forEach(({ product, deliverTo }, f) => {
    const key = `${product} ${deliverTo}`;
    const joined = groups.filter((group) => group.key === key && group.members.some((g) => haveInCommon(f, g)));
    const [first, ...others] = joined;
    if (!first) {
      groups.push({ key, members: [f] });
      return;
    }
    first.members.push(...others.flatMap(({ members }) => members), f);
    for (const other of others) groups.splice(groups.indexOf(other), 1);
  });
  return groups.map(({ members }) => members);
}
