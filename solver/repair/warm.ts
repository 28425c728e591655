import type { DayDocuments, StoodWarm, Timetable } from "../../schemas/index.js";
import { formatInstant, instantMinute, resolveWhen } from "../calendar.js";
import { inForceOf } from "../problem/in-force.js";
import { limitOf } from "../trade/holding.js";

/** Whoever puts dough away a little later than planned need not be told so: marks are no more exact. */
const LITTLE_MINUTES = 10;

/** When the cold of a load began or can, as told of its retard; undefined: nothing was. Epoch minutes. */
function toldCold(day: DayDocuments, { tasks }: Timetable, at: number): ReadonlyMap<string, number> {
  const told = new Map<string, number>();
  const zones = new Map(day.network.sites.map(({ id, timeZone }) => [id, timeZone]));
  const sites = new Map(tasks.map(({ id, does, site }) => [id, does === "retard" ? site : ""]));
  for (const one of day.happenings.happenings) {
    if (one.kind !== "started" && one.kind !== "finished" && one.kind !== "not-started") continue;
    const zone = zones.get(sites.get(one.task) ?? "");
    if (zone === undefined) continue;
    const when = one.kind === "started" ? one.at : one.kind === "finished" ? one.startedAt : one.notBefore;
    const resolved = when === undefined ? undefined : resolveWhen(when, zone);
    if (resolved && "minute" in resolved) told.set(one.task, resolved.minute);
    else if (one.kind === "not-started") told.set(one.task, at);
  }
  return told;
}

/**
 * Dough that stood, or will stand, warm between the work before its retard and the cold: put away later than the timetable has it, or without a place in the cold until
 * some minute. The timetable counts a retard from when that work ended (D21), so neither its chilling nor its time out of the cold knows of it: people have to.
 * Only what is more than a few minutes, or more than the dough's limit out of the cold. `begun`: when retards really began, in epoch minutes, where the timetable has
 * not yet been repaired.
 */
export function stoodWarm(
  day: DayDocuments,
  timetable: Timetable,
  begun: ReadonlyMap<string, number> = new Map(),
): StoodWarm[] {
  const zone = day.network.sites[0]!.timeZone;
  const now = day.happenings.at === undefined ? undefined : resolveWhen(day.happenings.at, zone);
  if (!now || !("minute" in now)) return [];
  const told = toldCold(day, timetable, now.minute);
  const found: StoodWarm[] = [];
  const { chains, loads } = inForceOf(timetable);
  for (const [id, chain] of chains) {
    const k = chain.findIndex(({ does }) => does === "retard");
    const retard = chain[k];
    if (!retard) continue;
    const isPlaced = (retard.places?.length ?? 0) > 0;
    const carried = isPlaced ? undefined : chain.find((task) => task.id === `${retard.id}-carried`);
    const from = begun.get(retard.id) ?? instantMinute(retard.start);
    const placed = isPlaced ? from : instantMinute(carried?.start ?? retard.end);
    const until = Math.max(placed, told.get(retard.id) ?? from);
    if (until <= from) continue;
    const load = loads.get(id);
    const product = day.catalogue.products.find((one) => one.id === load?.product);
    const dough = day.catalogue.doughs.find((one) => one.id === product?.dough);
    if (!load || load.scrapped || !dough) continue;
    const { outOfColdMinutes } = limitOf(day.settings, dough);
    const minutes = until - from;
    if (minutes <= Math.min(LITTLE_MINUTES, outOfColdMinutes ?? LITTLE_MINUTES)) continue;
    const site = day.network.sites.find((one) => one.id === retard.site)?.timeZone ?? zone;
    found.push({
      load: id,
      task: retard.id,
      site: retard.site,
      from: formatInstant(from, site),
      until: formatInstant(until, site),
      minutes,
      ...(outOfColdMinutes === undefined ? {} : { mostMinutes: outOfColdMinutes }),
    });
  }
  return found.sort((a, b) => b.minutes - a.minutes || (a.load < b.load ? -1 : 1));
}
