import type { DayDocuments, Drift, DriftOrder } from "../../schemas/index.js";
import { formatInstant } from "../calendar.js";
import { outagesOf } from "../problem/day-index.js";
import { isStandingTask, standingOf } from "../repair/standing.js";
import { stoodWarm } from "../repair/warm.js";
import { type PlanGraph, planGraph } from "./graph.js";
import { brokenWaits, type Course, deliveredAt, emptyPlayed, type Played, plannedCourse, play } from "./play.js";
import { unmetHappenings } from "./unmet.js";

/** The course that the day takes when everything that is still ahead goes as planned. */
function courseAsTold(graph: PlanGraph): Course {
  const { index, nodes } = graph;
  const standing = standingOf(index);
  const course = plannedCourse(graph);
  const facts = new Map<string, { start: number; end: number | null }>();
  for (const batch of standing.batches.values()) {
    facts.set(batch.mix.task.id, batch.mix);
    for (const load of batch.loads) for (const begun of load.tasks) facts.set(begun.task.id, begun);
  }
  nodes.forEach(({ task, start, end }, n) => {
    const cleaned = task.does === "clean" && start < standing.at ? { start, end } : undefined;
    const fact = facts.get(task.id) ?? cleaned;
    course.notBefore[n] = Math.max(standing.at, standing.reports.get(task.id)?.notBefore ?? 0);
    if (fact) {
      course.factStart[n] = fact.start;
      if (fact.end !== null && !(isStandingTask(task) && fact.end > standing.at)) course.factEnd[n] = fact.end;
    }
  });
  return course;
}

/** The timetable in force by its own times: vans that are late since leave when it has them leave. */
function asPlanned(graph: PlanGraph): Played {
  const played = emptyPlayed(graph);
  graph.nodes.forEach(({ start, end }, n) => {
    played.start[n] = start;
    played.end[n] = end;
  });
  return played;
}

/** Loads that are lost, or whose bake goes on elsewhere, and of which the timetable in force does not know it. */
function interruptedLoads({ index, timetable }: PlanGraph): number {
  const known = new Set(timetable.loads.flatMap(({ id, scrapped }) => (scrapped ? [id] : [])));
  const tasks = new Set(timetable.tasks.map(({ id }) => id));
  let count = 0;
  for (const { load, scrapped, tasks: begun } of standingOf(index).loads.values()) {
    const isCut = begun.some(({ task, cutAt }) => cutAt !== undefined && !tasks.has(`${task.id}-2`));
    if ((scrapped && !known.has(load.id)) || isCut) count++;
  }
  return count;
}

/** When retards that have begun really did, in epoch minutes, by task. */
function retardsBegun(index: PlanGraph["index"]): ReadonlyMap<string, number> {
  const begun = new Map<string, number>();
  for (const { tasks } of standingOf(index).loads.values())
    for (const { task, start } of tasks) if (task.does === "retard") begun.set(task.id, index.origin + start);
  return begun;
}

function readyByLine(graph: PlanGraph, played: Played): Map<string, number> {
  const ready = new Map<string, number>();
  for (const load of graph.timetable.loads) {
    const at = deliveredAt(graph, played, load.id);
    for (const { line } of load.orders) ready.set(line, Math.max(ready.get(line) ?? 0, at));
  }
  return ready;
}

/**
 * Does the timetable in force still hold? Real starts and finishes are pushed through it, everything ahead keeps its order, unit and minutes. Says for each
 * order how its slack has shrunk, which waits become too long, and whether a repair is worth it: when an order that was on time would be late, a
 * wait would be broken, something planned is on a unit that is out, a load cannot go on, or it does not meet what was told besides.
 */
export function drift(day: DayDocuments): Drift {
  const { inForce } = day;
  if (!inForce) throw new RangeError("there is no timetable in force");
  const graph = planGraph(day, inForce);
  const { index } = graph;
  const course = courseAsTold(graph);
  const now = emptyPlayed(graph);
  play(graph, course, now);
  const before = asPlanned(graph);
  const zoneOf = (site: string): string => index.sites.get(site)!.timeZone;
  const text = (minute: number, site: string): string => formatInstant(index.origin + minute, zoneOf(site));
  const planned = readyByLine(graph, before);
  const expected = readyByLine(graph, now);
  const orders: DriftOrder[] = index.wants.flatMap(({ line, due }) => {
    const was = planned.get(line.id);
    const is = expected.get(line.id);
    if (was === undefined || is === undefined) return [];
    const isKnown = Number.isFinite(is);
    return [
      {
        line: line.id,
        slackMinutes: due - was,
        ...(isKnown ? { slackNowMinutes: due - Math.round(is), ready: text(Math.round(is), line.site) } : {}),
      },
    ];
  });
  const reasons: string[] = [];
  const turned = orders.filter(
    ({ slackMinutes, slackNowMinutes }) => slackMinutes >= 0 && (slackNowMinutes === undefined || slackNowMinutes < 0),
  );
  if (turned.length > 0) reasons.push(`${turned.length} of the orders that were on time would be late.`);
  const wasBroken = new Set(brokenWaits(graph, before));
  const broken = brokenWaits(graph, now)
    .filter((n) => !wasBroken.has(n) && Number.isNaN(course.factEnd[n]!))
    .map((n) => graph.nodes[n]!.task.id);
  if (broken.length > 0) reasons.push(`${broken.length} greatest waits would be broken.`);
  const at = index.at ?? 0;
  const onOut = graph.nodes.filter(({ task }, n) => {
    // What stood there until now is taken away.
    if (!Number.isNaN(course.factEnd[n]!) || now.end[n]! <= at) return false;
    const units = new Set([task.unit, ...(task.places ?? []).map((place) => place.unit)]);
    return [...units].some((unit) =>
      outagesOf(index, unit ?? "").some((outage) => now.start[n]! < outage.to && outage.from < now.end[n]!),
    );
  });
  if (onOut.length > 0) reasons.push(`${onOut.length} tasks are planned on a unit that is out of service then.`);
  const interrupted = interruptedLoads(graph);
  if (interrupted > 0) reasons.push(`${interrupted} loads cannot go on as planned.`);
  const unmet = unmetHappenings(day);
  if (unmet > 0) reasons.push(`${unmet} of the happenings cannot be met by waiting.`);
  const late = graph.nodes
    .map((node, n) => ({ node, by: Math.round(now.start[n]! - node.start) }))
    .filter(({ by }, n) => by > 0 && Number.isNaN(course.factStart[n]!));
  const warm = stoodWarm(day, inForce, retardsBegun(index));
  return {
    format: "drift/1",
    at: text(index.at ?? 0, day.network.sites[0]!.id),
    holds: reasons.length === 0,
    reasons,
    orders,
    later: late
      .filter(({ node }) => !isStandingTask(node.task))
      .map(({ node, by }) => ({ task: node.task.id, minutes: Number.isFinite(by) ? by : index.horizon })),
    ...(warm.length > 0 ? { warm } : {}),
    brokenWaits: broken,
  };
}
