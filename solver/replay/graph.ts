import type { DayDocuments, Route, Step, Task, Timetable } from "../../schemas/index.js";
import { carriedFrom } from "../carried.js";
import { type DayIndex, indexDay } from "../problem/day-index.js";
import { changeMinutes } from "../problem/site-rows.js";
import { ArcList } from "./arc-list.js";
import { type DeckOfUnit, readDeck } from "./decks-of-units.js";
import { type Draft, draftsOf } from "./drafts.js";
import { forwardOrder } from "./forward-order.js";
import { leastProof } from "./least-proof.js";
import { freedLast, type Server } from "./servers.js";

/** Why one task waits for another. */
export type Because = "route" | "unit" | "position" | "setpoint" | "crew";

/** A task starts no earlier than another's start or end and so many minutes more. */
export interface Arc {
  readonly from: number;
  readonly to: number;
  readonly after: "start" | "end";
  readonly lag: number;
  readonly because: Because;
}

export interface Node {
  readonly task: Task;
  /** Planned, in minutes of the window. */
  readonly start: number;
  readonly end: number;
  /** A standing step lasts until the next step of its load starts, and at least so long; -1 for worked tasks. */
  readonly least: number;
  readonly greatest: number;
  /** The next step of its load, or -1. */
  readonly next: number;
  /** Greatest wait from the end of a worked step to the start of the next one. */
  readonly greatestAfter: number;
  /** A ride: index into `trips` of the graph, else -1. */
  readonly ride: number;
}

/** One departure, with the run's next ones for what misses it. */
export interface Ride {
  readonly id: string;
  readonly run: string;
  readonly leave: number;
  readonly delivered: number;
  readonly travelMinutes: number;
  readonly unloadMinutes: number;
  readonly spreadPercent: number | undefined;
}

/**
 * A timetable as a graph: each task waits for the step before it, for whatever has its unit, its positions, its setpoint or its people before it.
 * The order on every unit, position and person is the timetable's. Nodes are in an order in which every arc leads forward.
 */
export interface PlanGraph {
  readonly index: DayIndex;
  readonly timetable: Timetable;
  readonly nodes: readonly Node[];
  /** Arcs by the node that they lead to: [first[n], first[n + 1]). */
  readonly arcs: readonly Arc[];
  readonly first: Int32Array;
  readonly rides: readonly Ride[];
  /** By load id: its last node, and the node whose end delivers it. */
  readonly lastOf: ReadonlyMap<string, number>;
  /** By load id: the node of its ride, if it has one. */
  readonly ridesOf: ReadonlyMap<string, number>;
}

const STANDING: ReadonlySet<Task["does"]> = new Set(["rest", "retard", "temper", "proof", "cool"]);

/** Adds to a list of its own under each key: pools of people are long, so nothing is copied. */
function addUnder<K, T>(lists: Map<K, T[]>, key: K, item: T): void {
  const list = lists.get(key);
  if (list) list.push(item);
  else lists.set(key, [item]);
}

/** By load id. */
function routesOf(index: DayIndex, timetable: Timetable): Map<string, Route> {
  const routes = new Map<string, Route>();
  for (const load of timetable.loads) {
    for (const route of index.products.get(load.product)?.routes ?? []) {
      if (route.id !== load.route) continue;
      routes.set(load.id, route);
      break;
    }
  }
  return routes;
}

function stepOf(route: Route | undefined, task: Task): Step | undefined {
  for (const step of route?.steps ?? []) if (step.does === task.does) return step;
  return undefined;
}

/** Builds arcs between tasks, given in any order. */
class GraphBuilder {
  readonly arcs = new ArcList();
  private readonly drafts: readonly Draft[];
  private readonly index: DayIndex;
  private readonly timetable: Timetable;
  readonly next: Int32Array;
  private readonly byId = new Map<string, number>();
  private readonly decksOfUnits = new Map<string, DeckOfUnit>();
  /** Of each task the step of its load's route. */
  private readonly steps: (Step | undefined)[] = [];

  constructor(index: DayIndex, timetable: Timetable, drafts: readonly Draft[]) {
    this.index = index;
    this.timetable = timetable;
    this.drafts = drafts;
    this.next = new Int32Array(drafts.length).fill(-1);
    const routes = routesOf(index, timetable);
    for (let n = 0; n < drafts.length; n++) {
      const { task } = drafts[n]!;
      this.byId.set(task.id, n);
      this.steps.push(task.load === undefined ? undefined : stepOf(routes.get(task.load), task));
    }
  }

  stepOf(n: number): Step | undefined {
    return this.steps[n];
  }

  private arc(from: number, to: number, after: Arc["after"], lag: number, because: Because): void {
    // Facts may contradict each other: what began sooner did not wait for what began later.
    const isBackward = this.drafts[from]!.start > this.drafts[to]!.start;
    if (from !== to && !isBackward) this.arcs.add(from, to, after, lag, because);
  }

  /** The moment at which a task gives back what it has: a standing one when the next step of its load starts. */
  private release(from: number, to: number, lag: number, because: Because): void {
    const next = this.next[from]!;
    const stands = STANDING.has(this.drafts[from]!.task.does);
    // What is carried at one instant changes places at once: neither waits for the other.
    if (stands && next >= 0 && this.isCarriedWith(next, to)) return;
    if (stands && next >= 0) this.arc(next, to, "start", lag, because);
    else this.arc(from, to, "end", lag, because);
  }

  private isCarriedWith(a: number, b: number): boolean {
    const [one, other] = [this.drafts[a]!, this.drafts[b]!];
    return one.start === other.start && carriedFrom(one.task) !== undefined && carriedFrom(other.task) !== undefined;
  }

  private mixOf(load: Timetable["loads"][number]): number {
    return this.byId.get(`${load.batch}-mix`) ?? -1;
  }

  chains(): { greatestAfter: Int32Array; chains: Map<string, number[]> } {
    const greatestAfter = new Int32Array(this.drafts.length).fill(1 << 29);
    const chains = new Map<string, number[]>();
    const mixes = new Map<string, number>();
    for (const load of this.timetable.loads) mixes.set(load.id, this.mixOf(load));
    for (let n = 0; n < this.drafts.length; n++) {
      const { load } = this.drafts[n]!.task;
      if (load !== undefined) addUnder(chains, load, n);
    }
    for (const [load, chain] of chains) {
      const mix = mixes.get(load)!;
      if (mix >= 0 && chain.length > 0) this.arc(mix, chain[0]!, "end", 0, "route");
      for (let i = 0; i + 1 < chain.length; i++) {
        const from = chain[i]!;
        const to = chain[i + 1]!;
        const { task } = this.drafts[from]!;
        const isRideAtEnd = this.drafts[to]!.task.does === "van" && i + 2 === chain.length;
        if (!isRideAtEnd) this.next[from] = to;
        if (STANDING.has(task.does)) {
          const least = isRideAtEnd ? this.drafts[from]!.end - this.drafts[from]!.start : this.leastOf(from);
          this.arc(from, to, "start", Math.min(least, this.drafts[to]!.start - this.drafts[from]!.start), "route");
        } else {
          const step = this.steps[from];
          const wait = step && "waitAfter" in step ? step.waitAfter : undefined;
          const least = Math.min(wait?.leastMinutes ?? 0, this.drafts[to]!.start - this.drafts[from]!.end);
          this.arc(from, to, "end", least, "route");
          if (!isRideAtEnd && task.does !== "van") greatestAfter[from] = wait?.greatestMinutes ?? 0;
        }
      }
    }
    return { greatestAfter, chains };
  }

  leastOf(n: number): number {
    const { task } = this.drafts[n]!;
    const step = this.steps[n];
    if (!step || !("leastMinutes" in step)) return 0;
    // A retard in two parts has its least over both.
    if (task.does === "retard") return this.isSplit(task) ? 0 : step.leastMinutes;
    return task.does === "proof" ? leastProof(this.index.sites.get(task.site)!, task, step) : step.leastMinutes;
  }

  private isSplit(task: Task): boolean {
    return this.byId.has(`${task.id}-2`) || /-2$|-carried$/.test(task.id) || this.byId.has(`${task.id}-carried`);
  }

  /** Tasks that one thing serves one after another; they come in order of start, as all tasks do here. */
  private queue(tasks: readonly number[], because: Because): void {
    for (let i = 1; i < tasks.length; i++) {
      const before = this.drafts[tasks[i - 1]!]!;
      if (before.end <= this.drafts[tasks[i]!]!.start) this.release(tasks[i - 1]!, tasks[i]!, 0, because);
    }
  }

  units(): void {
    const single = new Map<string, number[]>();
    const places = new Map<string, Map<number, number[]>>();
    const positions: number[][] = [];
    for (let n = 0; n < this.drafts.length; n++) {
      const { task } = this.drafts[n]!;
      const { unit } = task;
      if (unit !== undefined && (task.does === "mix" || task.does === "boil" || task.does === "clean"))
        addUnder(single, unit, n);
      for (const place of task.places ?? []) {
        let own = places.get(place.unit);
        if (!own) {
          own = new Map();
          places.set(place.unit, own);
        }
        const there = own.get(place.position);
        if (there) there.push(n);
        else {
          const first = [n];
          own.set(place.position, first);
          positions.push(first);
        }
      }
    }
    for (const tasks of single.values()) this.queue(tasks, "unit");
    for (const tasks of positions) this.queue(tasks, "position");
  }

  /** Bench places and people: as many queues as there are, each task joins those that are free first. */
  pools(): void {
    const pools = new Map<string, { n: number; count: number; until: number }[]>();
    for (let n = 0; n < this.drafts.length; n++) {
      const { task, start, end } = this.drafts[n]!;
      if (!task.crew) continue;
      const until = task.crew.minutes === undefined ? end : Math.min(end, start + task.crew.minutes);
      const count = task.crew.heads;
      addUnder(pools, `${task.site} ${task.crew.group}`, { n, count, until });
      if (task.does === "shape" || task.does === "top" || task.does === "pack")
        addUnder(pools, `unit ${task.unit}`, { n, count, until: end });
    }
    for (const [key, uses] of pools) this.pool(uses, key.startsWith("unit ") ? "unit" : "crew");
  }

  private pool(uses: readonly { n: number; count: number; until: number }[], because: Because): void {
    const servers: Server[] = [];
    for (const use of uses) {
      const { start, end } = this.drafts[use.n]!;
      const taken = freedLast(servers, start, use.count);
      while (taken.length < use.count) {
        const server = { until: 0, n: -1 };
        servers.push(server);
        taken.push(server);
      }
      for (const server of taken) {
        if (server.n >= 0) {
          const before = this.drafts[server.n]!;
          // Attending the oven ends before the bake does.
          if (before.end <= start) this.arc(server.n, use.n, "end", 0, because);
          else this.arc(server.n, use.n, "start", Math.min(start, server.until) - before.start, because);
        }
        server.n = use.n;
        server.until = Math.min(use.until, end);
      }
    }
  }

  /** A setpoint or pan type on a deck gives way to another: what was there is out first, and the change takes its minutes. */
  decks(): void {
    const heaters = new Map<string, number[]>();
    for (let n = 0; n < this.drafts.length; n++) {
      const { task } = this.drafts[n]!;
      if (task.does !== "bake" || task.unit === undefined) continue;
      const { oven, station } = this.deckOf(task.unit);
      addUnder(heaters, oven?.sharedThermostat ? station : task.unit, n);
    }
    for (const bakes of heaters.values()) {
      let block: number[] = [];
      let before: number[] = [];
      for (const n of bakes) {
        const { task } = this.drafts[n]!;
        if (block.length > 0 && this.drafts[block[0]!]!.task.tempC !== task.tempC) {
          before = block;
          block = [];
        }
        block.push(n);
        for (const other of before) {
          const minutes = this.changeOf(this.drafts[other]!.task, task);
          const gap = this.drafts[n]!.start - this.drafts[other]!.end;
          if (gap >= 0) this.arc(other, n, "end", Math.min(gap, minutes), "setpoint");
        }
      }
    }
  }

  private changeOf(from: Task, to: Task): number {
    const { oven, deckIndex } = this.deckOf(to.unit!);
    if (!oven || from.tempC === undefined || to.tempC === undefined) return 0;
    return changeMinutes(oven, Math.max(0, deckIndex), from.tempC, to.tempC);
  }

  private deckOf(unit: string): DeckOfUnit {
    let deck = this.decksOfUnits.get(unit);
    if (!deck) {
      deck = readDeck(this.index, unit);
      this.decksOfUnits.set(unit, deck);
    }
    return deck;
  }
}

function ridesOf(index: DayIndex): Ride[] {
  return [...index.trips, ...index.cancelled].map(({ id, run, leave, delivered }) => ({
    id,
    run: run.id,
    leave,
    delivered,
    travelMinutes: run.travelMinutes,
    unloadMinutes: run.unloadMinutes,
    spreadPercent: run.spreadPercent,
  }));
}

/** Reads a sound timetable as a graph; tasks of loads that were thrown away only hold what they held. */
export function planGraph(day: DayDocuments, timetable: Timetable): PlanGraph {
  const index = indexDay(day);
  const drafts = draftsOf(index, timetable);
  const builder = new GraphBuilder(index, timetable, drafts);
  const { greatestAfter, chains } = builder.chains();
  builder.units();
  builder.pools();
  builder.decks();
  const order = forwardOrder(drafts, builder.arcs);
  if (order.length < drafts.length) throw new RangeError("the timetable's tasks wait for each other in a circle");
  const place = new Int32Array(drafts.length);
  for (let i = 0; i < order.length; i++) place[order[i]!] = i;
  const rides = ridesOf(index);
  const rideNumber = new Map<string, number>();
  for (let i = 0; i < rides.length; i++) rideNumber.set(rides[i]!.id, i);
  const nodes: Node[] = [];
  for (const n of order) {
    const { task, start, end } = drafts[n]!;
    const next = builder.next[n]!;
    const step = builder.stepOf(n);
    const stands = STANDING.has(task.does);
    nodes.push({
      task,
      start,
      end,
      least: stands ? (next < 0 ? end - start : builder.leastOf(n)) : -1,
      greatest: step && "greatestMinutes" in step ? step.greatestMinutes : 1 << 29,
      next: next < 0 ? -1 : place[next]!,
      greatestAfter: greatestAfter[n]!,
      ride: task.van === undefined ? -1 : (rideNumber.get(task.van) ?? -1),
    });
  }
  const arcs = builder.arcs.inPlace(place);
  const first = new Int32Array(nodes.length + 1);
  for (const arc of arcs) first[arc.to + 1] = first[arc.to + 1]! + 1;
  for (let n = 0; n < nodes.length; n++) first[n + 1] = first[n + 1]! + first[n]!;
  const lastOf = new Map<string, number>();
  for (const [load, chain] of chains) lastOf.set(load, place[chain[chain.length - 1]!]!);
  const loadRides = new Map<string, number>();
  for (let n = 0; n < nodes.length; n++) {
    const { task, ride } = nodes[n]!;
    if (ride >= 0 && task.load !== undefined) loadRides.set(task.load, n);
  }
  return { index, timetable, nodes, arcs, first, rides, lastOf, ridesOf: loadRides };
}
