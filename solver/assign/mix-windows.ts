import type { Balance } from "../network/balance.js";
import { windowsOf } from "../network/windows.js";
import type { DayIndex } from "../problem/day-index.js";
import type { LoadSpec } from "../problem/explode.js";
import type { MixWindow } from "../problem/size.js";

/**
 * Of each load, within which minutes its dough must begin to be mixed for any way to have it on time and fresh; null where none does. A dough can go
 * into a long retard and into bread of the same day: no one mix serves both.
 */
export function mixWindows(index: DayIndex, { program }: Balance): (load: LoadSpec) => MixWindow | null {
  const { families, columns } = program;
  const windows = families.map(() => new Map<string, MixWindow>());
  const familyOf = new Map<string, number>();
  families.forEach(({ wants }, f) => {
    for (const { line } of wants) familyOf.set(line.id, f);
  });
  const seen = new Set<string>();
  for (const { family: f, chain } of columns) {
    const { mixSite, bakeSite, handOver, trip, route } = chain.way;
    const key = `${f} ${mixSite} ${bakeSite} ${route.id} ${handOver} ${trip?.id}`;
    if (seen.has(key)) continue;
    seen.add(key);
    const { due, freshFrom } = families[f]!;
    if (handOver === "baked" && trip!.delivered > due) continue;
    const finish = { from: Math.max(0, freshFrom), to: handOver === "baked" ? trip!.leave : due };
    const own = windowsOf(chain, index.horizon, { from: 0, to: index.horizon }, finish);
    if (!own) continue;
    const known = windows[f]!.get(mixSite);
    windows[f]!.set(mixSite, {
      from: Math.min(known?.from ?? Number.POSITIVE_INFINITY, own.startFrom[0]!),
      to: Math.max(known?.to ?? 0, own.startTo[0]!),
    });
  }
  return ({ portions, mixSite }) => {
    const own = portions.map(({ want }) => windows[familyOf.get(want.line.id) ?? -1]?.get(mixSite));
    const from = Math.max(...own.map((window) => window?.from ?? 0));
    const to = Math.min(...own.map((window) => window?.to ?? index.horizon));
    return from <= to && own.some(Boolean) ? { from, to } : null;
  };
}
