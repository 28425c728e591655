import type { DayDocuments, Replay, ReplayOrder, Timetable } from "../../schemas/index.js";
import { createRng } from "../rng.js";
import { planGraph } from "./graph.js";
import { brokenWaits, decidingChain, deliveredAt, emptyPlayed, minutesMissing, plannedCourse, play } from "./play.js";
import { DEFAULT_SPREAD_PERCENT, gammaOfMeanOne, spreads } from "./spread.js";

export { drift } from "./drift.js";

export interface ReplayOptions {
  /** Default 1 000. */
  readonly runs?: number;
  /** Default 1. */
  readonly seed?: number;
}

export const DISPATCH_RULE =
  "Each task starts at its planned time, or as soon after it as everything that it waits for is done: the step before it, and whatever had its unit, positions, setpoint and people before it in the timetable. Nobody overtakes, nothing changes unit. Vans leave on time; what is not ready takes the run's next departure.";

/** Two-sided 95 % point of the normal distribution. */
const Z95 = 1.959963984540054;
const WORST_TASKS = 12;
/** A buffer covers the overruns of nine runs in ten. */
const BUFFER_QUANTILE = 0.9;

/** Wilson score interval of a share (Wilson, "Probable inference, the law of succession, and statistical inference", 1927). */
export function wilson(successes: number, runs: number): { low: number; high: number } {
  if (runs === 0) return { low: 0, high: 1 };
  const share = successes / runs;
  const z2 = Z95 * Z95;
  const middle = (share + z2 / (2 * runs)) / (1 + z2 / runs);
  const half = (Z95 / (1 + z2 / runs)) * Math.sqrt((share * (1 - share)) / runs + z2 / (4 * runs * runs));
  return { low: Math.max(0, middle - half), high: Math.min(1, middle + half) };
}

function quantile(sorted: readonly number[], share: number): number {
  if (sorted.length === 0) return 0;
  return sorted[Math.min(sorted.length - 1, Math.ceil(share * sorted.length) - 1)]!;
}

/** Of the orders, so many are to be as sure; more slack than this is dearer than an earlier van. */
const SLACK_QUANTILE = 0.9;
const MOST_SLACK_MINUTES = 30;

/** The slack that covers what most orders lack, over what the day was drawn up with. */
function slackFor(buffers: readonly number[], slackMinutes: number): number {
  const lacking = quantile(
    [...buffers].sort((a, b) => a - b),
    SLACK_QUANTILE,
  );
  return lacking === 0 ? slackMinutes : Math.max(slackMinutes, Math.min(MOST_SLACK_MINUTES, slackMinutes + lacking));
}

/**
 * How sure a timetable is: it is played many times with durations drawn around the planned ones (gamma distribution, spread by step from the catalogue or the
 * defaults). Deterministic by seed. The timetable must be sound.
 */
export function replay(day: DayDocuments, timetable: Timetable, options: ReplayOptions = {}): Replay {
  const runs = Math.max(1, options.runs ?? 1000);
  const seed = options.seed ?? 1;
  const graph = planGraph(day, timetable);
  const { nodes, rides, index } = graph;
  const spread = spreads(day, graph);
  const rng = createRng(seed);
  const course = plannedCourse(graph);
  const planned = Float64Array.from(course.minutes);
  const played = emptyPlayed(graph);
  const loads = timetable.loads.filter((load) => !load.scrapped && load.orders.length > 0);
  const loadsOf = new Map<string, string[]>();
  for (const load of loads)
    for (const { line } of load.orders) loadsOf.set(line, [...(loadsOf.get(line) ?? []), load.id]);
  const short = new Set(timetable.orders.flatMap(({ line, shortPieces }) => (shortPieces > 0 ? [line] : [])));
  const lines = index.wants.map(({ line, due }) => {
    // A line that is short is on time in no run.
    const own = short.has(line.id) ? [] : (loadsOf.get(line.id) ?? []);
    return { id: line.id, due, loads: own, onTime: 0, intact: 0, minutes: [] as number[] };
  });
  const blamed = new Map<number, { runs: number; overruns: number[] }>();
  const startDelays = nodes.map(() => 0);
  let allOnTime = 0;
  for (let run = 0; run < runs; run++) {
    for (let n = 0; n < nodes.length; n++) {
      if (nodes[n]!.least < 0) course.minutes[n] = planned[n]! * gammaOfMeanOne(rng, spread[n]!);
    }
    for (let i = 0; i < rides.length; i++) {
      const share = (rides[i]!.spreadPercent ?? DEFAULT_SPREAD_PERCENT.van!) / 100;
      course.travel[i] = rides[i]!.travelMinutes * gammaOfMeanOne(rng, share);
    }
    play(graph, course, played);
    const broken = new Set(brokenWaits(graph, played).map((n) => nodes[n]!.task.load ?? ""));
    nodes.forEach((node, n) => {
      startDelays[n] = startDelays[n]! + Math.max(0, Math.min(played.start[n]!, index.horizon) - node.start);
    });
    const causes = new Set<number>();
    let isAllOnTime = true;
    for (const line of lines) {
      if (line.loads.length === 0) {
        isAllOnTime = false;
        continue;
      }
      let ready = 0;
      let last = "";
      for (const load of line.loads) {
        const at = deliveredAt(graph, played, load);
        if (at > ready) {
          ready = at;
          last = load;
        }
      }
      // Less than a minute late is on time: the plan itself is in whole minutes.
      const isOnTime = ready < line.due + 1;
      if (isOnTime) line.onTime++;
      else {
        isAllOnTime = false;
        const chain = decidingChain(graph, played, graph.lastOf.get(last)!);
        const overrun = (n: number): number => played.end[n]! - played.start[n]! - planned[n]!;
        const worked = chain.filter((n) => nodes[n]!.least < 0 && overrun(n) > 0);
        if (worked.length > 0) causes.add(worked.reduce((a, b) => (overrun(b) > overrun(a) ? b : a)));
      }
      if (isOnTime && !line.loads.some((load) => broken.has(load))) line.intact++;
      line.minutes.push(Math.max(...line.loads.map((load) => minutesMissing(graph, played, load, line.due))));
    }
    for (const n of causes) {
      const entry = blamed.get(n) ?? { runs: 0, overruns: [] };
      entry.runs++;
      entry.overruns.push(played.end[n]! - played.start[n]! - planned[n]!);
      blamed.set(n, entry);
    }
    if (isAllOnTime) allOnTime++;
  }
  const orders: ReplayOrder[] = lines.map(({ id, onTime, intact, minutes }) => {
    minutes.sort((a, b) => a - b);
    const { low, high } = wilson(onTime, runs);
    return {
      line: id,
      onTime: onTime / runs,
      low,
      high,
      withinWaits: intact / runs,
      bufferMinutes: Math.max(0, Math.ceil(quantile(minutes, BUFFER_QUANTILE))),
    };
  });
  const causes = [...blamed]
    .map(([n, { runs: count, overruns }]) => ({
      task: nodes[n]!.task.id,
      runs: count,
      overrunMinutes: Math.ceil(
        quantile(
          overruns.sort((a, b) => a - b),
          BUFFER_QUANTILE,
        ),
      ),
    }))
    .sort((a, b) => b.runs - a.runs || (a.task < b.task ? -1 : 1))
    .slice(0, WORST_TASKS);
  const byUnit = new Map<string, { tasks: number; minutes: number }>();
  nodes.forEach(({ task }, n) => {
    if (task.unit === undefined || task.does === "clean") return;
    const entry = byUnit.get(task.unit) ?? { tasks: 0, minutes: 0 };
    byUnit.set(task.unit, { tasks: entry.tasks + 1, minutes: entry.minutes + startDelays[n]! / runs });
  });
  const all = wilson(allOnTime, runs);
  const suggestedSlackMinutes = slackFor(
    orders.filter((_, i) => lines[i]!.loads.length > 0).map(({ bufferMinutes }) => bufferMinutes),
    day.settings.slackMinutes ?? 0,
  );
  return {
    format: "replay/1",
    runs,
    seed,
    rule: DISPATCH_RULE,
    interval: "Wilson score, 95 %",
    allOnTime: { share: allOnTime / runs, ...all },
    orders,
    suggestedSlackMinutes,
    causes,
    units: [...byUnit].map(([unit, { tasks, minutes }]) => ({ unit, meanDelayMinutes: minutes / tasks })),
  };
}
