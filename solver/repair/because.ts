import type { DayDocuments, Link, Timetable } from "../../schemas/index.js";
import { outagesOf } from "../problem/day-index.js";
import { type PlanGraph, planGraph } from "../replay/graph.js";
import { ovenLeadMinutes } from "../trade/oven.js";

const MOST_LINKS = 12;
const graphs = new WeakMap<Timetable, PlanGraph>();

function graphOf(day: DayDocuments, timetable: Timetable): PlanGraph {
  let graph = graphs.get(timetable);
  if (!graph) {
    graph = planGraph(day, timetable);
    graphs.set(timetable, graph);
  }
  return graph;
}

/** Is the unit of a task out, or being lit again after it was, until the task starts? */
function freedByOutage(graph: PlanGraph, n: number): boolean {
  const { task, start } = graph.nodes[n]!;
  if (task.unit === undefined) return false;
  const [site, id] = task.unit.split("/");
  const oven = graph.index.sites.get(site!)?.ovens.find((candidate) => candidate.id === id);
  const lead = oven ? ovenLeadMinutes(oven, graph.index.sites.get(site!)!) : 0;
  return outagesOf(graph.index, task.unit).some((outage) => outage.to <= start && start <= outage.to + lead);
}

/**
 * Why a line is ready when it is: back from the task that delivers its last load, each time to what the task waited for: the step before it, or whatever
 * had its unit, position, setpoint or people until then. It ends where nothing held the task any more: an outage, the instant of the report,
 * or the plan itself.
 */
export function becauseOf(day: DayDocuments, timetable: Timetable, line: string): Link[] {
  const graph = graphOf(day, timetable);
  const { nodes, arcs, first, index } = graph;
  const loads = timetable.loads.filter((load) => load.orders.some((share) => share.line === line));
  let at = -1;
  for (const load of loads) {
    const last = graph.lastOf.get(load.id);
    if (last !== undefined && (at < 0 || nodes[last]!.end > nodes[at]!.end)) at = last;
  }
  const links: Link[] = [];
  while (at >= 0 && links.length < MOST_LINKS) {
    const node = nodes[at]!;
    const { task, start, end } = node;
    let waitsFor: Link["waitsFor"] = "plan";
    let next = -1;
    for (let i = first[at]!; i < first[at + 1]!; i++) {
      const arc = arcs[i]!;
      const before = nodes[arc.from]!;
      const free = (arc.after === "end" ? before.end : before.start) + arc.lag;
      // What shares a unit explains more than the route, which always leads up to the task.
      if (free !== start || (next >= 0 && arc.because === "route")) continue;
      next = arc.from;
      waitsFor = arc.because;
    }
    if (next < 0 || waitsFor === "route") {
      if (freedByOutage(graph, at)) {
        waitsFor = "outage";
        next = -1;
      }
    }
    if (next < 0 && task.does === "van") {
      // It rides when the van goes; why not sooner is a matter of the step before.
      waitsFor = "van";
      for (let i = first[at]!; i < first[at + 1]!; i++) if (arcs[i]!.because === "route") next = arcs[i]!.from;
    }
    if (next < 0 && waitsFor === "plan" && start === index.at) waitsFor = "instant";
    if (task.does !== "cool" || links.length > 0 || end > start)
      links.push({
        task: task.id,
        start: task.start,
        end: task.end,
        ...(task.unit === undefined ? {} : { unit: task.unit }),
        waitsFor,
      });
    at = next;
  }
  return links;
}
