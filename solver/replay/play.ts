import type { PlanGraph } from "./graph.js";

/** What is known or drawn of a course of the day, for every node: minutes of worked tasks, and starts and ends that are facts (NaN: not). */
export interface Course {
  readonly minutes: Float64Array;
  readonly factStart: Float64Array;
  readonly factEnd: Float64Array;
  /** By ride: minutes of travel. */
  readonly travel: Float64Array;
  /** For every node: a task that is still ahead starts no earlier. */
  readonly notBefore: Float64Array;
}

/** A played day, by node. */
export interface Played {
  readonly start: Float64Array;
  readonly end: Float64Array;
  /** The arc that decided the start, -1 when it started as planned. */
  readonly arc: Int32Array;
  /** By node of a ride: the ride taken, -1 when none was left; and when the load was ready for it. */
  readonly ride: Int32Array;
  readonly ready: Float64Array;
}

export function emptyPlayed(graph: PlanGraph): Played {
  const count = graph.nodes.length;
  return {
    start: new Float64Array(count),
    end: new Float64Array(count),
    arc: new Int32Array(count),
    ride: new Int32Array(count),
    ready: new Float64Array(count),
  };
}

/**
 * Plays a timetable once. Dispatch rule: each task starts at its planned time, or as soon after it as everything that it waits for is done: the step
 * before it, and whatever had its unit, positions, setpoint and people before it in the timetable. Nobody overtakes and nothing changes unit. A van
 * leaves on time; what is not ready for it takes the run's next departure.
 */
export function play(graph: PlanGraph, course: Course, into: Played): void {
  const { nodes, arcs, first, rides } = graph;
  const { start, end, arc: decided, ride: taken, ready } = into;
  for (let n = 0; n < nodes.length; n++) {
    const node = nodes[n]!;
    let at = node.start;
    let by = -1;
    const known = course.factStart[n]!;
    if (!Number.isNaN(known)) at = known;
    else {
      if (at < course.notBefore[n]!) at = course.notBefore[n]!;
      for (let i = first[n]!; i < first[n + 1]!; i++) {
        const arc = arcs[i]!;
        const free = (arc.after === "end" ? end[arc.from]! : start[arc.from]!) + arc.lag;
        if (free > at) {
          at = free;
          by = i;
        }
      }
    }
    decided[n] = by;
    taken[n] = -1;
    if (node.ride >= 0) {
      // What is planned for the van is there at the latest when it is loaded; what is ready sooner counts as ready then.
      const chosen = rideFor(graph, node.ride, at);
      ready[n] = at;
      taken[n] = chosen;
      const ride = rides[chosen];
      start[n] = ride ? ride.leave : Number.POSITIVE_INFINITY;
      end[n] = ride ? ride.delivered - ride.travelMinutes + course.travel[chosen]! : Number.POSITIVE_INFINITY;
      continue;
    }
    start[n] = at;
    const fact = course.factEnd[n]!;
    // A standing step ends when the next one starts; until that is known, after its least time.
    if (!Number.isNaN(fact)) end[n] = fact;
    else end[n] = node.least >= 0 ? at + node.least : at + course.minutes[n]!;
  }
  for (let n = 0; n < nodes.length; n++) {
    const { least, next } = nodes[n]!;
    if (least >= 0 && next >= 0 && start[next]! > end[n]!) end[n] = start[next]!;
  }
}

/** The planned ride, or the run's next one that is not yet gone. */
function rideFor({ rides }: PlanGraph, planned: number, ready: number): number {
  const { run, leave } = rides[planned]!;
  if (ready <= leave) return planned;
  let best = -1;
  rides.forEach((ride, i) => {
    if (ride.run === run && ride.leave >= ready && (best < 0 || ride.leave < rides[best]!.leave)) best = i;
  });
  return best;
}

/** A course in which everything takes what it was planned to take. */
export function plannedCourse(graph: PlanGraph): Course {
  const count = graph.nodes.length;
  return {
    minutes: Float64Array.from(graph.nodes, (node) => node.end - node.start),
    factStart: new Float64Array(count).fill(Number.NaN),
    factEnd: new Float64Array(count).fill(Number.NaN),
    travel: Float64Array.from(graph.rides, (ride) => ride.travelMinutes),
    notBefore: new Float64Array(count),
  };
}

/** Waits that have become longer than the route allows, as nodes: a standing step, or the worked step after which the wait is. */
export function brokenWaits(graph: PlanGraph, played: Played): number[] {
  const broken: number[] = [];
  graph.nodes.forEach((node, n) => {
    const { next, greatest, greatestAfter, least, task } = node;
    if (next < 0 || task.id.endsWith("-2") || task.id.endsWith("-carried")) return;
    if (least >= 0) {
      const { next: second, task: after } = graph.nodes[next]!;
      // A retard with a ride in it lasts until its second part ends.
      const end = after.does === "van" && second >= 0 ? played.end[second]! : played.end[n]!;
      if (end - played.start[n]! > greatest + 1e-9) broken.push(n);
    } else if (played.start[next]! - played.end[n]! > greatestAfter + 1e-9) broken.push(n);
  });
  return broken;
}

/** By so many minutes sooner the load would have had to be ready: for the van that it missed, or for `due`. */
export function minutesMissing(graph: PlanGraph, played: Played, load: string, due: number): number {
  const last = graph.lastOf.get(load);
  if (last === undefined) return 0;
  const missed = graph.ridesOf.get(load);
  if (missed !== undefined && played.ride[missed] !== graph.nodes[missed]!.ride)
    return played.ready[missed]! - graph.rides[graph.nodes[missed]!.ride]!.leave;
  return played.end[last]! - due;
}

/** When each load is delivered; infinity when it misses its last van. */
export function deliveredAt(graph: PlanGraph, played: Played, load: string): number {
  const last = graph.lastOf.get(load);
  return last === undefined ? Number.POSITIVE_INFINITY : played.end[last]!;
}

/** The nodes that decided when a node started, latest first, back to one that started as planned. */
export function decidingChain(graph: PlanGraph, played: Played, last: number): number[] {
  const chain = [last];
  const { arcs } = graph;
  for (let n = last; played.arc[n]! >= 0; ) {
    n = arcs[played.arc[n]!]!.from;
    chain.push(n);
  }
  return chain;
}
