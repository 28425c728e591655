import type { Balance } from "../network/balance.js";
import type { FlowColumn } from "../network/columns.js";
import type { LoadSpec } from "../problem/explode.js";

/**
 * Of each load, by how many stretches of mixing it can have begun at the latest. What the next shift can still mix does not share a bowl with what
 * it cannot: mixed together, all of it would stand on the shelves from the evening on.
 */
export function mixWaves({ program }: Balance): (load: LoadSpec) => number {
  const latest = program.families.map(() => new Map<string, number>());
  const familyOf = new Map<string, number>();
  program.families.forEach(({ wants }, f) => {
    for (const { line } of wants) familyOf.set(line.id, f);
  });
  for (const column of program.columns) {
    const own = latest[column.family]!;
    const { mixSite } = column.chain.way;
    own.set(mixSite, Math.max(own.get(mixSite) ?? 0, waveOf(column)));
  }
  return ({ portions, mixSite }) =>
    Math.min(...portions.map(({ want }) => latest[familyOf.get(want.line.id)!]?.get(mixSite) ?? 0));
}

/** Stretches of mixing that have begun when a column's pieces are mixed at the latest. */
function waveOf({ chain, windows }: FlowColumn): number {
  const { open } = chain.links[0]!;
  if (!open) return 1;
  let waves = 0;
  for (let t = 0; t <= windows.startTo[0]! && t < open.length; t++) if (open[t] && !(t > 0 && open[t - 1])) waves++;
  return waves;
}
