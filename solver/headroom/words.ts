import type { Binding, DayDocuments, Site } from "../../schemas/index.js";
import { LocalClock } from "../local-clock.js";
import type { Pool } from "../network/pools.js";
import type { DayIndex } from "../problem/day-index.js";

const WORDS: Readonly<Record<Binding["kind"], string>> = {
  mixer: "mixers",
  "fridge-positions": "shelf positions",
  "fridge-heat": "cooling power of the fridges",
  tubs: "tubs",
  bench: "bench places",
  crew: "people",
  pans: "pans",
  "proofer-positions": "proofer positions",
  kettle: "kettle time",
  "deck-positions": "deck positions",
  "rack-positions": "rack positions",
  van: "van positions",
  waits: "time between the steps",
  window: "time in the window",
  several: "several things at once",
};

export function limitWords(kind: Binding["kind"]): string {
  return WORDS[kind];
}

/** What a pool is, as a planner says it: "people who boil or pack", "deck positions". */
export function poolWords(day: DayDocuments, site: Site, pool: Pool): string {
  if (pool.kind === "crew") {
    const all = new Set(site.crew.flatMap(({ skills }) => skills));
    const skills = pool.of.split("+");
    return skills.length === all.size ? "people" : `people who can ${skills.join(" or ")}`;
  }
  if (pool.kind === "pans") return `pans (${day.network.panTypes.find(({ id }) => id === pool.of)?.name ?? pool.of})`;
  if (pool.kind === "tubs") return `tubs (${day.network.tubTypes.find(({ id }) => id === pool.of)?.name ?? pool.of})`;
  if (pool.kind === "fridge-positions" && /^(tub|pan) /.test(pool.of)) {
    const [what, id] = pool.of.split(" ");
    const name =
      what === "tub"
        ? day.network.tubTypes.find((type) => type.id === id)?.name
        : day.network.panTypes.find((type) => type.id === id)?.name;
    return `shelf positions for ${name ?? id}`;
  }
  return WORDS[pool.kind];
}

/** "21:30 to 05:00" on the site's clock; minutes of the day's window. */
export function hoursWords({ origin, horizon }: DayIndex, from: number, to: number, timeZone: string): string {
  const clock = new LocalClock(timeZone, { fromMinute: origin, toMinute: origin + horizon });
  return `${clock.time(origin + from)} to ${clock.time(origin + to)}`;
}
