import type { BoilStep, CrewUse, Dip, Place, Task } from "../../schemas/index.js";
import { formatInstantSeconds } from "../calendar.js";
import type { BegunTask } from "../problem/begun.js";
import type { Problem } from "../problem/index.js";
import { minuteIn } from "../problem/kept.js";
import type { StepTrace } from "../problem/modes.js";
import type { Operation } from "../search/model.js";
import { dips } from "../trade/kettle.js";
import { type Before, beforeOf } from "./as-before.js";
import { type Clock, type MadeBatch, type MadeLoad, type ScrappedLoad, takeOn } from "./context.js";
import type { PositionBook } from "./positions.js";

function rowsOf({ alternatives }: Operation): number[] {
  const rows: number[] = [];
  for (const { row } of alternatives) rows.push(row);
  return rows;
}

const NOTHING_BEGUN: ReadonlyMap<string, BegunTask> = new Map();

/** The first of each id. */
function byId(begun: readonly BegunTask[]): ReadonlyMap<string, BegunTask> {
  if (begun.length === 0) return NOTHING_BEGUN;
  const found = new Map<string, BegunTask>();
  for (const one of begun) if (!found.has(one.task.id)) found.set(one.task.id, one);
  return found;
}

/** A stay and those that it went on as: each time that its items were carried it has another task, named after the one before. */
function staysFrom(tasks: ReadonlyMap<string, BegunTask>, first: BegunTask): BegunTask[] {
  const stays: BegunTask[] = [];
  for (let stay: BegunTask | undefined = first; stay; stay = tasks.get(`${stay.task.id}-carried`)) stays.push(stay);
  return stays;
}

/** Turns placed batches and loads into tasks. */
export class TaskWriter {
  private readonly problem: Problem;
  private readonly clock: Clock;
  private readonly positions: PositionBook;

  constructor(problem: Problem, clock: Clock, positions: PositionBook) {
    this.problem = problem;
    this.clock = clock;
    this.positions = positions;
  }

  mix(batch: MadeBatch): Task {
    const spec = this.problem.batches[batch.number]!;
    const begun = this.problem.begun?.batches.get(spec.id)?.mix;
    if (begun) return this.asItWas(begun, begun.end!);
    const option = this.problem.model.batches[batch.number]!.options[0]!;
    const { site } = batch;
    const before = this.before(spec.id);
    const task: Task = {
      id: before.id("mix"),
      does: "mix",
      batch: spec.id,
      site,
      start: this.clock(batch.start, site),
      end: this.clock(batch.end, site),
      unit: `${site}/${batch.mixer}`,
    };
    if (batch.crewRow >= 0) task.crew = { group: this.groupOf(batch.crewRow), heads: option.crew!.heads };
    return before.orSame("mix", task);
  }

  private before(owner: string): Before {
    return beforeOf(this.problem.kept, owner);
  }

  /** Adds the tasks of a load. */
  load(load: MadeLoad, tasks: Task[]): void {
    const begun = byId(this.problem.begun?.loads.get(load.spec.id)?.tasks ?? []);
    const before = this.before(load.spec.id);
    for (const trace of load.meaning.steps) {
      const done = begun.size > 0 ? this.over(load, trace, begun, before) : null;
      if (done) tasks.push(done);
      else if (trace.hold < 0) this.add(tasks, begun, this.worked(load, trace, before));
      else this.addStanding(tasks, begun, load, trace, before);
    }
    const { trip, handOver } = load.meaning;
    if (trip && handOver === "baked") this.add(tasks, begun, this.ride(load, before));
  }

  private add(tasks: Task[], begun: ReadonlyMap<string, BegunTask>, task: Task): void {
    const own = begun.size > 0 ? begun.get(task.id) : undefined;
    if (!own) tasks.push(task);
    else for (const one of this.asBegun(begun, own, task)) tasks.push(one);
  }

  /** The one task of a step that is over, straight from the timetable in force; null when there is more to it. */
  private over(load: MadeLoad, trace: StepTrace, begun: ReadonlyMap<string, BegunTask>, before: Before): Task | null {
    const id = before.id(trace.step.does);
    const own = begun.get(id);
    if (!own || own.end === null || own.cutAt !== undefined) return null;
    if (trace.hold >= 0 && (load.mode.holds[trace.hold]!.ride || begun.has(`${id}-carried`))) return null;
    return this.asItWas(own, own.end);
  }

  /** Tasks of a load that is thrown away, as far as they went. */
  scrapped({ tasks }: ScrappedLoad): Task[] {
    return tasks.map((begun) => this.asItWas(begun, begun.end!));
  }

  /** What has begun is copied from the timetable in force, at its real times. */
  private asBegun(tasks: ReadonlyMap<string, BegunTask>, begun: BegunTask, task: Task): Task[] {
    const end = this.minute(task.end);
    const second = tasks.get(`${task.id}-2`);
    if (begun.cutAt !== undefined && second)
      return [this.asItWas(begun, begun.cutAt), this.asItWas(second, second.end!)];
    if (begun.cutAt !== undefined) return [this.asItWas(begun, begun.cutAt), { ...task, id: `${task.id}-2` }];
    const stays = staysFrom(tasks, begun);
    const written = stays.map((stay) => this.asItWas(stay, stay.end ?? end));
    const put = this.putAway(task, stays[stays.length - 1]!, end);
    if (put) written.splice(-1, 1, ...put);
    return written;
  }

  /** What stands without a place, because it was to go on at once, has one from the instant on. Null: nothing does. */
  private putAway({ site, places }: Task, stay: BegunTask, end: number): Task[] | null {
    const { at } = this.problem.begun!;
    if (!places || stay.task.places || stay.end !== null || end <= at) return null;
    const rest = {
      ...stay.task,
      id: `${stay.task.id}-carried`,
      start: this.clock(at, site),
      end: this.clock(end, site),
    };
    return [this.asItWas(stay, at), { ...rest, places }];
  }

  /** Items that are carried to other positions because theirs fail: stays without a gap, the last of them elsewhere. */
  private carried(load: MadeLoad, trace: StepTrace, id: string, items: readonly string[]): Task[] {
    const { leave, rows } = load.mode.holds[trace.hold]!.ride!;
    const begun = byId(this.problem.begun?.loads.get(load.spec.id)?.tasks ?? []);
    const written = (first: string, until?: number): Task[] =>
      staysFrom(begun, begun.get(first)!).map((stay) => this.asItWas(stay, stay.end ?? until!));
    const isAfterVan = begun.has(`${id}-2`);
    const stays = written(isAfterVan ? `${id}-2` : id, leave);
    const places = this.positions.places(load, rows, leave, items);
    const last = `${stays[stays.length - 1]!.id}-carried`;
    stays.push(this.stay(load, trace, last, trace.site, leave, load.starts[trace.hold]!, places));
    if (!isAfterVan) return stays;
    const ride = begun.get(`${load.spec.id}-van`)!;
    return [...written(id), this.asItWas(ride, ride.end!), ...stays];
  }

  /** At its real times, which are mostly those that were planned. */
  private asItWas({ task, start }: BegunTask, end: number): Task {
    const last = task.van === undefined ? task.site : this.endOfRide(task.van, task.site);
    const from = this.clock(start, task.site);
    const to = this.clock(end, last);
    return task.start === from && task.end === to ? task : { ...task, start: from, end: to };
  }

  private endOfRide(van: string, site: string): string {
    for (const { id, run } of this.problem.index.trips) if (id === van) return run.to;
    return site;
  }

  private minute(instant: string): number {
    return minuteIn(this.problem.index, instant);
  }

  private groupOf(row: number): string {
    return this.problem.prepared.book.meanings[row]!.of!;
  }

  private ride(load: MadeLoad, before: Before): Task {
    const trip = load.meaning.trip!;
    return before.orSame("van", {
      id: before.id("van"),
      does: "van",
      load: load.spec.id,
      site: trip.run.from,
      start: this.clock(trip.leave, trip.run.from),
      end: this.clock(trip.delivered, trip.run.to),
      van: trip.id,
    });
  }

  private addStanding(
    tasks: Task[],
    begun: ReadonlyMap<string, BegunTask>,
    load: MadeLoad,
    trace: StepTrace,
    before: Before,
  ): void {
    const k = trace.hold;
    const hold = load.mode.holds[k]!;
    const from = k === 0 ? load.mixEnd : load.ends[k - 1]!;
    const to = load.starts[k]!;
    const { does } = trace.step;
    const id = before.id(does);
    const tubs = load.meaning.tubsG.length;
    const items = does === "retard" && tubs > 0 ? before.tubNames(tubs) : before.panNames(load.spec.pans);
    if (!hold.ride) {
      const places = this.positions.places(load, hold.rows, from, items);
      this.add(tasks, begun, before.orSame(does, this.stay(load, trace, id, trace.site, from, to, places)));
      return;
    }
    const { leave, arrive, rows } = hold.ride;
    if (load.meaning.isCarried && leave === arrive) {
      tasks.push(...this.carried(load, trace, id, items));
      return;
    }
    const { mixSite, bakeSite } = load.meaning;
    const first = this.positions.places(load, hold.rows, from, items);
    this.add(tasks, begun, before.orSame(does, this.stay(load, trace, id, mixSite, from, leave, first)));
    this.add(tasks, begun, this.ride(load, before));
    const second = `${does}-2`;
    const places = this.positions.places(load, rows, arrive, items);
    const rest = this.stay(load, trace, before.id(second), bakeSite, arrive, to, places);
    this.add(tasks, begun, before.orSame(second, rest));
  }

  private stay(
    load: MadeLoad,
    { step }: StepTrace,
    id: string,
    site: string,
    from: number,
    to: number,
    places: Place[] | undefined,
  ): Task {
    const task: Task = {
      id,
      does: step.does,
      load: load.spec.id,
      site,
      start: this.clock(from, site),
      end: this.clock(to, site),
    };
    if (places) task.places = places;
    return task;
  }

  private worked(load: MadeLoad, { step, site, operation: k }: StepTrace, before: Before): Task {
    const operation = load.mode.operations[k]!;
    const start = load.starts[k]!;
    const end = load.ends[k]!;
    const { book } = this.problem.prepared;
    const unitTake = takeOn(load, operation, start);
    const task: Task = {
      id: before.id(step.does),
      does: step.does,
      load: load.spec.id,
      site,
      start: this.clock(start, site),
      end: this.clock(end, site),
    };
    if (unitTake) task.unit = book.meanings[unitTake.row]!.unit!;
    const crew = this.crewOf(load, operation, start, end);
    if (crew) task.crew = crew;
    if (step.does === "bake") {
      task.tempC = step.tempC;
      const places = this.positions.places(load, rowsOf(operation), start, before.panNames(load.spec.pans));
      if (places) task.places = places;
    }
    if (step.does === "boil") task.dips = this.dips(load, step, site, unitTake!.row, start);
    return before.orSame(step.does, task);
  }

  private crewOf(load: MadeLoad, { crew }: Operation, start: number, end: number): CrewUse | undefined {
    if (!crew) return undefined;
    for (const take of load.takes) {
      if (take.from !== start || !crew.rows.includes(take.row)) continue;
      const use: CrewUse = { group: this.groupOf(take.row), heads: take.amount };
      if (crew.minutes > 0) use.minutes = Math.min(crew.minutes, end - start);
      return use;
    }
    return undefined;
  }

  private dips(load: MadeLoad, step: BoilStep, siteId: string, row: number, start: number): Dip[] {
    const { index, prepared } = this.problem;
    const site = index.sites.get(siteId)!;
    const kettleId = prepared.book.meanings[row]!.unit!.split("/")[1];
    const kettle = site.kettles.find((candidate) => candidate.id === kettleId)!;
    const product = index.products.get(load.spec.product)!;
    const dough = index.doughs.get(product.dough)!;
    const found: Dip[] = [];
    for (const { afterSeconds, pieces } of dips(kettle, step, product, dough, load.spec.pieces))
      found.push({ start: formatInstantSeconds((index.origin + start) * 60 + afterSeconds, site.timeZone), pieces });
    return found;
  }
}
