import type { CrewUse, Dip, Task } from "../../schemas/index.js";
import { formatInstantSeconds } from "../calendar.js";
import type { BegunTask } from "../problem/begun.js";
import type { Problem } from "../problem/index.js";
import { minuteIn } from "../problem/kept.js";
import type { StepTrace } from "../problem/modes.js";
import type { Operation } from "../search/model.js";
import { dips } from "../trade/kettle.js";
import { type Clock, type MadeBatch, type MadeLoad, type ScrappedLoad, takeOn } from "./context.js";
import type { PositionBook } from "./positions.js";

/** Names of a load's pans (D2). */
export function panNames(load: MadeLoad): string[] {
  return Array.from({ length: load.spec.pans }, (_, i) => `${load.spec.id}-pan-${i + 1}`);
}

export function tubNames(load: MadeLoad): string[] {
  return load.meaning.tubsG.map((_, i) => `${load.spec.id}-tub-${i + 1}`);
}

function rowsOf({ alternatives }: Operation): number[] {
  return alternatives.map(({ row }) => row);
}

/** Turns placed batches and loads into tasks. */
export class TaskWriter {
  private readonly problem: Problem;
  private readonly clock: Clock;
  private readonly positions: PositionBook;
  private readonly pans = new WeakMap<MadeLoad, string[]>();

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
    const crew = batch.crewRow >= 0 ? { crew: this.crewUse(batch.crewRow, option.crew!.heads) } : {};
    return {
      id: `${spec.id}-mix`,
      does: "mix",
      batch: spec.id,
      ...this.at(batch.site, batch.start, batch.end),
      unit: `${batch.site}/${batch.mixer}`,
      ...crew,
    };
  }

  load(load: MadeLoad): Task[] {
    const begun = this.problem.begun?.loads.get(load.spec.id)?.tasks ?? [];
    const byId = new Map<string, BegunTask>();
    for (const one of begun) if (!byId.has(one.task.id)) byId.set(one.task.id, one);
    const tasks: Task[] = [];
    for (const trace of load.meaning.steps) {
      const done = begun.length > 0 ? this.over(load, trace, byId) : null;
      if (done) tasks.push(done);
      else if (trace.hold < 0) this.add(tasks, byId, this.worked(load, trace));
      else for (const task of this.standing(load, trace)) this.add(tasks, byId, task);
    }
    const { trip, handOver } = load.meaning;
    if (trip && handOver === "baked") this.add(tasks, byId, this.ride(load));
    return tasks;
  }

  private add(tasks: Task[], begun: ReadonlyMap<string, BegunTask>, task: Task): void {
    if (begun.size > 0) tasks.push(...this.asBegun(begun, task));
    else tasks.push(task);
  }

  /** The one task of a step that is over, straight from the timetable in force; null when there is more to it. */
  private over(load: MadeLoad, trace: StepTrace, begun: ReadonlyMap<string, BegunTask>): Task | null {
    const id = `${load.spec.id}-${trace.step.does}`;
    const own = begun.get(id);
    if (!own || own.end === null || own.cutAt !== undefined) return null;
    if (trace.hold >= 0 && (load.mode.holds[trace.hold]!.ride || begun.has(`${id}-carried`))) return null;
    return this.asItWas(own, own.end);
  }

  private panNames(load: MadeLoad): string[] {
    const names = this.pans.get(load) ?? panNames(load);
    this.pans.set(load, names);
    return names;
  }

  /** Tasks of a load that is thrown away, as far as they went. */
  scrapped({ tasks }: ScrappedLoad): Task[] {
    return tasks.map((begun) => this.asItWas(begun, begun.end!));
  }

  /** What has begun is copied from the timetable in force, at its real times. */
  private asBegun(tasks: ReadonlyMap<string, BegunTask>, task: Task): Task[] {
    const begun = tasks.get(task.id);
    if (!begun) return [task];
    const end = this.minute(task.end);
    const second = tasks.get(`${task.id}-2`);
    if (begun.cutAt !== undefined && second)
      return [this.asItWas(begun, begun.cutAt), this.asItWas(second, second.end!)];
    if (begun.cutAt !== undefined) return [this.asItWas(begun, begun.cutAt), { ...task, id: `${task.id}-2` }];
    const carried = tasks.get(`${task.id}-carried`);
    if (carried) return [this.asItWas(begun, begun.end!), this.asItWas(carried, carried.end ?? end)];
    if (begun.end !== null) return [this.asItWas(begun, begun.end)];
    return [this.asItWas(begun, end)];
  }

  /** Items that are carried to other positions because theirs fail: two stays without a gap. */
  private carried(load: MadeLoad, trace: StepTrace, id: string, items: readonly string[]): Task[] {
    const k = trace.hold;
    const { rows, ride } = load.mode.holds[k]!;
    const { leave, rows: others } = ride!;
    const tasks = this.problem.begun?.loads.get(load.spec.id)?.tasks ?? [];
    const isAfterVan = tasks.some(({ task }) => task.id === `${id}-2`);
    const own = isAfterVan ? `${id}-2` : id;
    const from = tasks.find(({ task }) => task.id === own)!.start;
    const base = { does: trace.step.does, load: load.spec.id };
    const site = trace.site;
    const stays: Task[] = [
      { id: own, ...base, ...this.at(site, from, leave), ...this.placed(load, rows, from, items) },
      {
        id: `${own}-carried`,
        ...base,
        ...this.at(site, leave, load.starts[k]!),
        ...this.placed(load, others, leave, items),
      },
    ];
    if (!isAfterVan) return stays;
    const first: Task = { id, ...base, ...this.at(load.meaning.mixSite, from, from) };
    return [first, this.ride(load), ...stays];
  }

  private asItWas({ task, start }: BegunTask, end: number): Task {
    const last =
      task.van === undefined
        ? task.site
        : (this.problem.index.trips.find(({ id }) => id === task.van)?.run.to ?? task.site);
    return { ...task, start: this.clock(start, task.site), end: this.clock(end, last) };
  }

  private minute(instant: string): number {
    return minuteIn(this.problem.index, instant);
  }

  private at(site: string, start: number, end: number): Pick<Task, "site" | "start" | "end"> {
    return { site, start: this.clock(start, site), end: this.clock(end, site) };
  }

  private crewUse(row: number, heads: number): CrewUse {
    return { group: this.problem.prepared.book.meanings[row]!.of!, heads };
  }

  private ride(load: MadeLoad): Task {
    const trip = load.meaning.trip!;
    return {
      id: `${load.spec.id}-van`,
      does: "van",
      load: load.spec.id,
      ...this.at(trip.run.from, trip.leave, trip.delivered),
      end: this.clock(trip.delivered, trip.run.to),
      van: trip.id,
    };
  }

  private standing(load: MadeLoad, trace: StepTrace): Task[] {
    const k = trace.hold;
    const hold = load.mode.holds[k]!;
    const from = k === 0 ? load.mixEnd : load.ends[k - 1]!;
    const to = load.starts[k]!;
    const id = `${load.spec.id}-${trace.step.does}`;
    const items = trace.step.does === "retard" && load.meaning.tubsG.length > 0 ? tubNames(load) : this.panNames(load);
    const base = { does: trace.step.does, load: load.spec.id };
    if (!hold.ride)
      return [{ id, ...base, ...this.at(trace.site, from, to), ...this.placed(load, hold.rows, from, items) }];
    const { leave, arrive, rows } = hold.ride;
    if (load.meaning.isCarried && leave === arrive) return this.carried(load, trace, id, items);
    const { mixSite, bakeSite } = load.meaning;
    return [
      { id, ...base, ...this.at(mixSite, from, leave), ...this.placed(load, hold.rows, from, items) },
      this.ride(load),
      { id: `${id}-2`, ...base, ...this.at(bakeSite, arrive, to), ...this.placed(load, rows, arrive, items) },
    ];
  }

  private placed(
    load: MadeLoad,
    rows: Int32Array | readonly number[],
    from: number,
    items: readonly string[],
  ): Pick<Task, "places"> {
    const places = this.positions.places(load, rows, from, items);
    return places.length > 0 ? { places } : {};
  }

  private worked(load: MadeLoad, trace: StepTrace): Task {
    const k = trace.operation;
    const operation = load.mode.operations[k]!;
    const start = load.starts[k]!;
    const end = load.ends[k]!;
    const { book } = this.problem.prepared;
    const unitTake = takeOn(load, operation, start);
    const unit = unitTake ? { unit: book.meanings[unitTake.row]!.unit! } : {};
    const groups = operation.crew?.rows;
    const crewTake = groups && load.takes.find((take) => take.from === start && groups.includes(take.row));
    const minutes =
      operation.crew && operation.crew.minutes > 0 ? { minutes: Math.min(operation.crew.minutes, end - start) } : {};
    const crew = crewTake ? { crew: { ...this.crewUse(crewTake.row, crewTake.amount), ...minutes } } : {};
    const { step, site } = trace;
    return {
      id: `${load.spec.id}-${step.does}`,
      does: step.does,
      load: load.spec.id,
      ...this.at(site, start, end),
      ...unit,
      ...crew,
      ...(step.does === "bake"
        ? { tempC: step.tempC, ...this.placed(load, rowsOf(operation), start, this.panNames(load)) }
        : {}),
      ...(step.does === "boil" ? { dips: this.dips(load, trace, unitTake!.row, start) } : {}),
    };
  }

  private dips(load: MadeLoad, trace: StepTrace, row: number, start: number): Dip[] {
    const { index, prepared } = this.problem;
    const site = index.sites.get(trace.site)!;
    const kettleId = prepared.book.meanings[row]!.unit!.split("/")[1];
    const kettle = site.kettles.find((candidate) => candidate.id === kettleId)!;
    const product = index.products.get(load.spec.product)!;
    const { step } = trace;
    if (step.does !== "boil") return [];
    const dough = index.doughs.get(product.dough)!;
    return dips(kettle, step, product, dough, load.spec.pieces).map(({ afterSeconds, pieces }) => ({
      start: formatInstantSeconds((index.origin + start) * 60 + afterSeconds, site.timeZone),
      pieces,
    }));
  }
}
