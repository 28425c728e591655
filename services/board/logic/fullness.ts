import { HOUR } from "./clock.js";
import { type Level, levelAt, staircase } from "./levels.js";
import type { Plan } from "./plan.js";
import { stationRows } from "./rows/stations.js";
import type { Row, Station } from "./rows/types.js";

export interface FullCell {
  readonly fromMs: number;
  /** Share of the room that is in use over the hour, 0 to 1; undefined when there is no room at all (nobody on shift, out of service). */
  readonly share: number | undefined;
}

export interface FullRow {
  readonly site: string;
  readonly station: Station;
  readonly name: string;
  readonly cells: readonly FullCell[];
  readonly most: number;
}

interface Loaded {
  readonly used: readonly Level[];
  readonly room: readonly Level[];
}

/** Use and room of a row, in its own unit: positions, people, or lanes. */
function loadOf(row: Row, plan: Plan): Loaded {
  if (row.gauge) return { used: row.gauge.levels, room: row.gauge.room };
  const uses = row.bars.map((bar) => ({ fromMs: bar.fromMs, toMs: bar.toMs, amount: bar.lanes }));
  const room = [{ fromMs: plan.span.fromMs, toMs: plan.span.toMs, amount: row.laneCount }];
  const gone = row.out.map((span) => ({
    fromMs: Math.max(span.fromMs, plan.span.fromMs),
    toMs: Math.min(span.toMs, plan.span.toMs),
    amount: -row.laneCount,
  }));
  return { used: staircase(uses), room: staircase([...room, ...gone]) };
}

/** Area under a staircase. */
function area(levels: readonly Level[], fromMs: number, toMs: number): number {
  let sum = 0;
  let at = fromMs;
  for (const level of levels) {
    if (level.ms <= at) continue;
    const until = Math.min(level.ms, toMs);
    sum += levelAt(levels, at) * (until - at);
    at = until;
    if (at >= toMs) break;
  }
  return sum + (at < toMs ? levelAt(levels, at) * (toMs - at) : 0);
}

/** How full each kind of station of each site is, hour by hour; units of a kind count together. */
export function fullness(plan: Plan): FullRow[] {
  const rows = stationRows(plan, new Set(), new Set()).filter((row) => row.station !== "site" && row.station !== "van");
  const groups = new Map<string, { site: string; station: Station; name: string; loads: Loaded[] }>();
  for (const row of rows) {
    const key = row.station === "crew" ? row.id : `${row.site}/${row.station}`;
    const group = groups.get(key) ?? {
      site: row.site,
      station: row.station,
      name: row.station === "crew" ? row.name : STATION_WORDS[row.station],
      loads: [],
    };
    group.loads.push(loadOf(row, plan));
    groups.set(key, group);
  }
  const hours: number[] = [];
  for (let ms = plan.span.fromMs; ms < plan.span.toMs; ms += HOUR) hours.push(ms);
  return [...groups.values()].map(({ loads, ...rest }) => {
    const cells = hours.map((fromMs): FullCell => {
      const toMs = Math.min(fromMs + HOUR, plan.span.toMs);
      const used = loads.reduce((sum, load) => sum + area(load.used, fromMs, toMs), 0);
      const room = loads.reduce((sum, load) => sum + area(load.room, fromMs, toMs), 0);
      return { fromMs, share: room <= 0 ? undefined : Math.min(1, used / room) };
    });
    return { ...rest, cells, most: Math.max(0, ...cells.map((cell) => cell.share ?? 0)) };
  });
}

export const STATION_WORDS: Readonly<Record<Station, string>> = {
  site: "Site",
  mixer: "Mixers",
  fridge: "Fridge positions",
  bench: "Bench places",
  proofer: "Proofer positions",
  kettle: "Kettles",
  oven: "Deck positions",
  rack: "Rack positions",
  van: "Vans",
  crew: "Crew",
};
