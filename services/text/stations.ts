import type { DayDocuments, Site, Task, Timetable } from "../../schemas/index.js";
import { bathName, bathRecipe } from "../../solver/baths.js";
import { spanText } from "../../solver/local-clock.js";
import { Book } from "../../solver/sheets/book.js";
import { carriedWords } from "../../solver/sheets/carries.js";
import { Names } from "./names.js";
import { table } from "./table.js";

type Describe = (task: Task) => string[];

/** Positions of a task, shelf by shelf: "shelf-3: 1 2 3, shelf-4: 1". */
function placesOf(task: Task, skip = 1): string {
  const byUnit = new Map<string, number[]>();
  for (const { unit, position } of task.places ?? []) {
    const name = unit.split("/").slice(skip).join("/");
    byUnit.set(name, [...(byUnit.get(name) ?? []), position]);
  }
  return [...byUnit].map(([unit, positions]) => `${unit}: ${positions.sort((a, b) => a - b).join(" ")}`).join(", ");
}

class StationWriter {
  private readonly day: DayDocuments;
  private readonly timetable: Timetable;
  private readonly names: Names;
  private readonly book: Book;
  private readonly site: Site;
  readonly lines: string[] = [];

  constructor(day: DayDocuments, timetable: Timetable, site: Site) {
    this.day = day;
    this.timetable = timetable;
    this.names = new Names(day, timetable);
    this.book = new Book(day, timetable);
    this.site = site;
  }

  private tasks(filter: (task: Task) => boolean): Task[] {
    return this.timetable.tasks.filter((task) => task.site === this.site.id && filter(task));
  }

  private times(task: Task): string {
    return spanText(this.names.time(task.start, this.site.id), this.names.time(task.end, this.site.id));
  }

  private what(task: Task): string {
    const load = this.names.load(task.load);
    if (!load) return task.does;
    const isInTubs =
      (task.does === "van" && load.handOver === "tubs") ||
      load.tubs.some(({ id }) => task.places?.some(({ item }) => item === id));
    const [count, each] = isInTubs ? [load.tubs.length, "tub"] : [load.pans, "pan"];
    const pans = `${count} ${count === 1 ? each : `${each}s`}`;
    return `${load.pieces} ${this.names.product(load.product)} (${pans}, ${load.id})${carriedWords(this.book, task).after}`;
  }

  private crew(task: Task): string {
    if (!task.crew) return "";
    return `${task.crew.heads} ${this.names.crew(this.site.id, task.crew.group)}`;
  }

  section(title: string, tasks: readonly Task[], describe: Describe): void {
    if (tasks.length === 0) return;
    this.lines.push("", `  ${title}`);
    let date = "";
    let rows: string[][] = [];
    const flush = (): void => {
      this.lines.push(...table(rows));
      rows = [];
    };
    for (const task of tasks) {
      const day = this.names.date(task.start, this.site.id);
      if (day !== date) {
        flush();
        this.lines.push(`    ${day}`);
        date = day;
      }
      rows.push([`      ${this.times(task)}`, ...describe(task)]);
    }
    flush();
  }

  mixers(): void {
    const batches = new Map(this.timetable.batches.map((batch) => [batch.id, batch]));
    for (const mixer of this.site.mixers) {
      const unit = `${this.site.id}/${mixer.id}`;
      this.section(
        mixer.name,
        this.tasks((task) => task.unit === unit),
        (task) => {
          const batch = batches.get(task.batch ?? "");
          return batch
            ? [
                `mix ${this.names.dough(batch.dough)} ${(batch.massG / 1000).toFixed(1)} kg (${batch.id})`,
                this.crew(task),
              ]
            : [`clean ${this.book.whyClean(task)}`];
        },
      );
    }
  }

  fridges(): void {
    const all = this.tasks((task) => task.does === "retard" && (task.places?.length ?? 0) > 0);
    for (const fridge of this.site.fridges) {
      const own = all.filter((task) => task.places![0]!.unit.startsWith(`${this.site.id}/${fridge.id}/`));
      this.section(fridge.name, own, (task) => [this.what(task), placesOf(task, 2)]);
    }
  }

  byUnit(units: readonly { id: string; name: string }[], extra: Describe): void {
    for (const { id, name } of units) {
      const unit = `${this.site.id}/${id}`;
      this.section(
        name,
        this.tasks((task) => task.unit === unit),
        (task) =>
          task.does === "clean" ? [`clean ${this.book.whyClean(task)}`] : [task.does, this.what(task), ...extra(task)],
      );
    }
  }

  standing(does: "proof" | "cool", units: readonly { id: string; name: string }[]): void {
    for (const { id, name } of units) {
      const prefix = `${this.site.id}/${id}`;
      const own = this.tasks((task) => task.does === does && task.places?.[0]?.unit === prefix);
      this.section(name, own, (task) => [this.what(task), placesOf(task).replace(`${id}: `, "positions ")]);
    }
  }

  ovens(): void {
    for (const oven of this.site.ovens) {
      for (const deck of oven.decks) {
        const unit = `${this.site.id}/${oven.id}/${deck.id}`;
        const bakes = this.tasks((task) => task.unit === unit);
        const program = this.timetable.ovenProgram.find((entry) => entry.deck === unit);
        if (bakes.length === 0 || !program) continue;
        const t = (instant: string): string => this.names.time(instant, this.site.id);
        const on = program.on.map((span) => `on ${t(span.from)}, off ${t(span.to)}`).join("; ");
        const points = program.setpoints
          .map((set) => `${set.tempC} C at ${t(set.at)} (hot ${t(set.hotFrom)})`)
          .join(", ");
        this.section(`${oven.name}, ${deck.id}: ${on}; set ${points}`, bakes, (task) => [
          `${task.tempC} C`,
          this.what(task),
          `positions ${(task.places ?? []).map((place) => place.position).join(" ")}`,
        ]);
      }
    }
  }

  kettles(): void {
    for (const kettle of this.site.kettles) {
      const unit = `${this.site.id}/${kettle.id}`;
      const program = this.timetable.kettleProgram.find((entry) => entry.kettle === unit);
      const t = (instant: string): string => this.names.time(instant, this.site.id);
      const fillings = this.book.fillings(unit);
      const isUnplanned = ({ start }: Task): boolean =>
        fillings.some((filling) => filling.kind === "unplanned" && filling.start === start);
      const first = fillings.find(({ kind }) => kind === "first")?.bath;
      const on = (program?.on ?? [])
        .map(
          (span, i) =>
            `${i === 0 && first ? `fill with ${bathRecipe(first)}, ` : ""}light ${t(span.from)}, boils ${t(span.boilsFrom)}, off ${t(span.to)}`,
        )
        .join("; ");
      this.section(
        `${kettle.name}${on === "" ? "" : `: ${on}`}`,
        this.tasks((task) => task.unit === unit),
        (task) => {
          if (task.does === "clean") {
            const next = this.book.filling(task)?.bath;
            const why = this.book.whyClean(task);
            return [next ? `clean ${why}; then fill with ${bathRecipe(next)}` : `clean ${why}`];
          }
          const dips = task.dips ?? [];
          const bath = this.book.bath(task);
          return [
            this.what(task),
            bath ? `${isUnplanned(task) ? "EMPTY, FILL FRESH, then " : ""}in ${bathName(bath)}` : "",
            `${dips.length} ${dips.length === 1 ? "dip" : "dips"} of ${dips[0]?.pieces ?? 0}${dips.length > 1 && dips[dips.length - 1]!.pieces !== dips[0]!.pieces ? ` (last ${dips[dips.length - 1]!.pieces})` : ""}`,
            this.crew(task),
          ];
        },
      );
    }
  }

  vans(): void {
    const tasks = this.tasks((task) => task.does === "van");
    const trips = new Map(this.timetable.vans.map((van) => [van.id, van]));
    const runs = new Map(this.day.network.vanRuns.map((run) => [run.id, run.name]));
    this.section("Vans", tasks, (task) => {
      const van = trips.get(task.van ?? "");
      return [
        van ? `${runs.get(van.run) ?? van.run}, departs ${this.names.time(van.departs, this.site.id)}` : "",
        this.what(task),
      ];
    });
  }
}

/** A site's day, station by station, in order of time, on the site's own clock. */
export function siteText(day: DayDocuments, timetable: Timetable, site: Site): string {
  const writer = new StationWriter(day, timetable, site);
  writer.lines.push(`${site.name} (${site.timeZone})`);
  writer.mixers();
  writer.fridges();
  writer.byUnit(site.benches, (task) => [
    task.crew ? `${task.crew.heads} of ${new Names(day, timetable).crew(site.id, task.crew.group)}` : "",
  ]);
  writer.standing("proof", site.proofers);
  writer.kettles();
  writer.ovens();
  writer.standing("cool", site.racks);
  writer.vans();
  return writer.lines.join("\n");
}
