import type { DayDocuments, Site, Timetable } from "../../schemas/index.js";
import { indexDay } from "../problem/day-index.js";
import type { Want } from "./candidate.js";

/** Before a line is due, the time in which what held it back was wanting. */
const BEFORE_MINUTES = 180;

/** What there is of a kind at a site, as pools name it. */
function unitsOf(site: Site, kind: Want["kind"]): string {
  const ids = (list: readonly { readonly id: string }[]): string => list.map(({ id }) => id).join(" ");
  switch (kind) {
    case "deck-positions":
      return site.ovens.flatMap((oven) => oven.decks.map((deck) => `${oven.id}/${deck.id}`)).join(" ");
    case "kettle":
      return ids(site.kettles);
    case "mixer":
      return ids(site.mixers);
    case "bench":
      return ids(site.benches);
    case "proofer-positions":
      return ids(site.proofers);
    case "rack-positions":
      return ids(site.racks);
    case "crew":
      return [...new Set(site.crew.flatMap(({ skills }) => skills))].join("+");
    case "pans":
      return site.pans[0]?.panType ?? "";
    case "tubs":
      return site.tubs[0]?.tubType ?? "";
    default:
      return "";
  }
}

/** What held lines back in a timetable, as wants, those that held back most lines first. */
export function heldBackWants(day: DayDocuments, timetable: Timetable): Want[] {
  const { origin } = indexDay(day);
  const found = new Map<string, { want: Want; lines: number }>();
  for (const { why, due } of timetable.orders) {
    const site = day.network.sites.find(({ id }) => id === why?.site);
    if (!why || !site || why.code === "stopped") continue;
    const key = `${why.code} ${site.id}`;
    const to = Math.round(Date.parse(due) / 60_000) - origin;
    const known = found.get(key);
    const want = { kind: why.code, site: site.id, of: unitsOf(site, why.code), from: to - BEFORE_MINUTES, to };
    found.set(key, { want: known?.want ?? want, lines: (known?.lines ?? 0) + 1 });
  }
  return [...found.values()].sort((a, b) => b.lines - a.lines).map(({ want }) => want);
}
