import type { Balance, DayDocuments, Load, SiteShare, Timetable } from "../../schemas/index.js";
import { linesAsTold } from "../problem/told.js";

/** Pieces of a load that orders get. */
function given(load: Load): number {
  return load.orders.reduce((sum, { pieces }) => sum + pieces, 0);
}

function sitesOf(day: DayDocuments, { loads, batches }: Timetable): SiteShare[] {
  const lines = linesAsTold(day);
  const total = loads.reduce((sum, load) => sum + given(load), 0);
  return day.network.sites.map(({ id }) => {
    const baked = loads.filter((load) => load.bakedAt === id);
    const bakedPieces = baked.reduce((sum, load) => sum + given(load), 0);
    const mixedG = batches.filter(({ site }) => site === id).reduce((sum, { massG }) => sum + massG, 0);
    return {
      site: id,
      mixedKg: Math.round(mixedG / 100) / 10,
      bakedPieces,
      bakedForOthers: baked.filter((load) => load.deliveredTo !== id).reduce((sum, load) => sum + given(load), 0),
      sharePercent: total > 0 ? Math.round((1000 * bakedPieces) / total) / 10 : 0,
      wantedPieces: lines.filter((line) => line.site === id).reduce((sum, line) => sum + line.pieces, 0),
    };
  });
}

function makesOf({ loads, batches }: Timetable): Balance["makes"] {
  const mixedAt = new Map(batches.map(({ id, site }) => [id, site]));
  const makes = new Map<string, Balance["makes"][number]>();
  for (const load of loads) {
    const mixSite = mixedAt.get(load.batch)!;
    const key = `${load.product} ${load.deliveredTo} ${mixSite} ${load.bakedAt} ${load.handOver ?? ""}`;
    makes.set(key, {
      product: load.product,
      deliverTo: load.deliveredTo,
      mixedAt: mixSite,
      bakedAt: load.bakedAt,
      ...(load.handOver === undefined ? {} : { handOver: load.handOver }),
      pieces: (makes.get(key)?.pieces ?? 0) + given(load),
    });
  }
  return [...makes.values()].sort((a, b) => b.pieces - a.pieces || (a.product < b.product ? -1 : 1));
}

function transfersOf(day: DayDocuments, timetable: Timetable): Balance["transfers"] {
  const loads = new Map(timetable.loads.map((load) => [load.id, load]));
  const runs = new Map(day.network.vanRuns.map((run) => [run.id, run]));
  return timetable.vans.map((van) => {
    const run = runs.get(van.run)!;
    const riding = van.loads.map(({ load }) => loads.get(load)!);
    const pieces = (kind: string): number =>
      riding.reduce((sum, load) => sum + (load.handOver === kind ? given(load) : 0), 0);
    return {
      trip: van.id,
      run: van.run,
      from: run.from,
      to: run.to,
      departs: van.departs,
      positions: van.loads.reduce((sum, { positions }) => sum + positions, 0),
      room: run.positions,
      tubs: pieces("tubs"),
      pans: pieces("pans"),
      baked: pieces("baked"),
    };
  });
}

/** Who mixes and bakes how much, what is made where for whom, and what rides, as a timetable has it. */
export function account(day: DayDocuments, timetable: Timetable): Pick<Balance, "sites" | "makes" | "transfers"> {
  return { sites: sitesOf(day, timetable), makes: makesOf(timetable), transfers: transfersOf(day, timetable) };
}
