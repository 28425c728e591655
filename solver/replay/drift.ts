import type { DayDocuments, Drift, DriftOrder } from "../../schemas/index.js";
import { formatInstant } from "../calendar.js";
import { outagesOf } from "../problem/day-index.js";
import { isStandingTask, standingOf } from "../repair/standing.js";
import { type PlanGraph, planGraph } from "./graph.js";
import { brokenWaits, type Course, deliveredAt, emptyPlayed, type Played, plannedCourse, play } from "./play.js";

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
    course.notBefore[n] = standing.reports.get(task.id)?.notBefore ?? standing.at;
    if (fact) {
      course.factStart[n] = fact.start;
      if (fact.end !== null && !(isStandingTask(task) && fact.end > standing.at)) course.factEnd[n] = fact.end;
    }
  });
  return course;
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
 * wait would be broken, something planned is on a unit that is out, or orders have changed.
 */
export function drift(day: DayDocuments): Drift {
  const { inForce } = day;
  if (!inForce) throw new RangeError("there is no timetable in force");
  const graph = planGraph(day, inForce);
  const { index } = graph;
  const course = courseAsTold(graph);
  const now = emptyPlayed(graph);
  play(graph, course, now);
  const before = emptyPlayed(graph);
  play(graph, plannedCourse(graph), before);
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
  const onOut = graph.nodes.filter(({ task }, n) => {
    if (!Number.isNaN(course.factEnd[n]!)) return false;
    const units = new Set([task.unit, ...(task.places ?? []).map((place) => place.unit)]);
    return [...units].some((unit) =>
      outagesOf(index, unit ?? "").some((outage) => now.start[n]! < outage.to && outage.from < now.end[n]!),
    );
  });
  if (onOut.length > 0) reasons.push(`${onOut.length} tasks are planned on a unit that is out of service then.`);
  const changed = day.happenings.happenings.filter(({ kind }) => NEEDS_REPAIR.has(kind)).length;
  if (changed > 0) reasons.push(`${changed} of the happenings cannot be met by waiting.`);
  const late = graph.nodes
    .map((node, n) => ({ node, by: Math.round(now.start[n]! - node.start) }))
    .filter(({ by }, n) => by > 0 && Number.isNaN(course.factStart[n]!));
  return {
    format: "drift/1",
    at: text(index.at ?? 0, day.network.sites[0]!.id),
    holds: reasons.length === 0,
    reasons,
    orders,
    later: late
      .filter(({ node }) => !isStandingTask(node.task))
      .map(({ node, by }) => ({ task: node.task.id, minutes: Number.isFinite(by) ? by : index.horizon })),
    brokenWaits: broken,
  };
}

const NEEDS_REPAIR: ReadonlySet<string> = new Set([
  "absent",
  "smaller",
  "slower",
  "spoiled",
  "short-batch",
  "pieces-lost",
  "order-added",
  "order-changed",
  "order-cancelled",
  "hold",
]);
