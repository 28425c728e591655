import { absencesOf, crewCapacity } from "../../../../solver/calendar.js";
import { MINUTE, msOf } from "../clock.js";
import { packLanes } from "../lanes.js";
import { type Level, staircase } from "../levels.js";
import { type Common, plural } from "./common.js";
import type { Bar, Row } from "./types.js";

/** Vans that leave or reach the site: one bar per trip that is used. */
export function vanRow(common: Common): Row[] {
  const { plan, site } = common;
  const runOf = new Map(plan.day.network.vanRuns.map((run) => [run.id, run]));
  const trips = plan.timetable.vans.filter((van) => runOf.get(van.run)?.from === site.id);
  if (trips.length === 0) return [];
  const stays = trips.map((trip) => ({ fromMs: msOf(trip.departs), toMs: msOf(trip.arrives) }));
  const { lanes, count } = packLanes(stays);
  const bars = trips.map((trip, i): Bar => {
    const run = runOf.get(trip.run)!;
    const positions = trip.loads.reduce((sum, share) => sum + share.positions, 0);
    const to = plan.sites.get(run.to)?.name ?? run.to;
    return {
      task: undefined,
      trip: trip.id,
      text: `${to}: ${positions} of ${run.positions}`,
      ...stays[i]!,
      lane: lanes[i]!,
      lanes: 1,
    };
  });
  return [
    {
      id: `${site.id}/~vans`,
      site: site.id,
      station: "van",
      name: "Vans leaving",
      note: plural(trips.length, "trip"),
      bars,
      laneCount: count,
      lanesArePositions: false,
      out: [],
      canUnfold: false,
      isUnfolded: false,
    },
  ];
}

/** A line of heads by minute as a staircase. */
function stairsOf(line: ArrayLike<number>, fromMs: number): Level[] {
  const levels: Level[] = [];
  for (let i = 0; i < line.length; i++)
    if (i === 0 || line[i] !== line[i - 1]) levels.push({ ms: fromMs + i * MINUTE, used: line[i]! });
  return levels;
}

export function crewRows(common: Common): Row[] {
  const { plan, site } = common;
  const window = { fromMinute: plan.span.fromMs / MINUTE, toMinute: plan.span.toMs / MINUTE };
  return site.crew.map((group): Row => {
    const absences = absencesOf(plan.day.happenings, site, group.id);
    const { regular, overtime } = crewCapacity(group, site.timeZone, absences, window);
    const heads = Array.from(regular, (count, i) => count + overtime.reduce((sum, line) => sum + line.capacity[i]!, 0));
    const uses = plan.tasks
      .filter((task) => task.site === site.id && task.task.crew?.group === group.id)
      .map((task) => ({
        fromMs: task.fromMs,
        toMs: task.task.crew!.minutes === undefined ? task.toMs : task.fromMs + task.task.crew!.minutes * MINUTE,
        amount: task.task.crew!.heads,
      }));
    const most = Math.max(1, ...heads);
    return {
      id: `${site.id}/~crew/${group.id}`,
      site: site.id,
      station: "crew",
      name: group.name,
      note: `${most} at most`,
      bars: [],
      laneCount: 1,
      lanesArePositions: false,
      gauge: { levels: staircase(uses), room: stairsOf(heads, plan.span.fromMs), most, counts: "people" },
      out: [],
      canUnfold: false,
      isUnfolded: false,
    };
  });
}
