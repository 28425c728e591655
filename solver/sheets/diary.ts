import type { DayDocuments, Site, Task, Timetable } from "../../schemas/index.js";
import { bathName, bathRecipe, type Filling, hasLyeBetween } from "../baths.js";
import { formatInstant } from "../calendar.js";
import { CAUTIONS, COMES_FIRST } from "../trade/cautions.js";
import { Book } from "./book.js";
import { taskText } from "./crew.js";
import { stintsOf } from "./people.js";
import { cautionsOf } from "./task-cautions.js";

/** One entry of a calendar. */
export interface DiaryEntry {
  /** Unique within the timetable. */
  readonly id: string;
  readonly start: string;
  readonly end: string;
  readonly summary: string;
  readonly location: string;
  readonly description: string;
}

/** The calendar of a station (site/unit or site/oven/deck), a crew group (site/group) or one of its people (site/group/number). */
export interface Diary {
  readonly who: string;
  readonly name: string;
  readonly entries: readonly DiaryEntry[];
}

class DiaryMaker {
  private readonly book: Book;

  constructor(book: Book) {
    this.book = book;
  }

  entry(task: Task, span: { start: string; end: string } = task): DiaryEntry {
    const { book } = this;
    const load = book.load(task.load);
    const batch = book.batches.get(task.batch ?? "");
    const places = book.places(task);
    const allergens = load
      ? book.allergensOfLoads([load])
      : book.allergens(batch ? book.doughIngredients(book.doughs.get(batch.dough)!) : []);
    const why = book.whyClean(task);
    const lines = [
      load
        ? `${load.pieces} pieces on ${load.pans} pans, load ${load.id}`
        : batch
          ? `batch ${batch.id}, ${(batch.massG / 1000).toFixed(1)} kg`
          : "",
      places === "" ? "" : `Places: ${places}`,
      task.tempC === undefined ? "" : `Deck at ${task.tempC} C`,
      allergens.length > 0 ? `Allergens: ${allergens.join(", ")}` : "",
      why === "" ? "" : `Why: ${why}`,
      ...cautionsOf(book, task).map((caution) => CAUTIONS[caution]),
      COMES_FIRST,
    ];
    return {
      id: task.id,
      start: span.start,
      end: span.end,
      summary: taskText(book, task),
      location: task.unit === undefined ? (book.sites.get(task.site)?.name ?? task.site) : book.unitName(task.unit),
      description: lines.filter((line) => line !== "").join("\n"),
    };
  }

  /** Switching on and changing the setpoint are work at the deck too; kettles are lit. */
  private heatEntries(unit: string): DiaryEntry[] {
    const { timetable } = this.book;
    const location = this.book.unitName(unit);
    const deck = timetable.ovenProgram.find((entry) => entry.deck === unit);
    const kettle = timetable.kettleProgram.find((entry) => entry.kettle === unit);
    const fillings = kettle ? this.book.fillings(unit) : [];
    const entry = (id: string, start: string, end: string, summary: string): DiaryEntry => ({
      id: `${unit.replaceAll("/", "-")}-${id}`,
      start,
      end,
      summary,
      location,
      description: [
        CAUTIONS[kettle ? "boiling-water" : "hot-decks"],
        ...(kettle && hasLyeBetween(fillings, start, end) ? [CAUTIONS.lye] : []),
        COMES_FIRST,
      ].join("\n"),
    });
    const filledBy = (instant: string): Filling | undefined =>
      fillings.findLast(({ start }) => this.book.minute(start) <= this.book.minute(instant));
    return [
      ...(deck?.setpoints ?? []).map((set, i) => entry(`set-${i + 1}`, set.at, set.hotFrom, `set ${set.tempC} C`)),
      ...(kettle?.on ?? []).flatMap((on, i) => {
        const last = filledBy(on.from);
        const isFirst = last?.kind === "first" && last.start === on.from;
        const filled = isFirst ? `fill with ${bathRecipe(last.bath!)}, ` : "";
        const left = filledBy(on.to)?.bath;
        return [
          entry(`light-${i + 1}`, on.from, on.boilsFrom, `${filled}light the kettle`),
          entry(`off-${i + 1}`, on.to, on.to, `switch off the kettle${left ? `, ${bathName(left)} is in it` : ""}`),
        ];
      }),
    ];
  }

  station(unit: string): Diary {
    const { book } = this;
    const tasks = book.tasks(
      (task) =>
        task.unit === unit ||
        (task.places ?? []).some((place) => place.unit === unit || place.unit.startsWith(`${unit}/`)),
    );
    const entries = [...this.heatEntries(unit), ...tasks.map((task) => this.entry(task))];
    return { who: unit, name: book.unitName(unit), entries: sorted(book, entries) };
  }

  crew(site: Site, group: string): Diary[] {
    const { book } = this;
    const found = site.crew.find(({ id }) => id === group);
    if (!found) return [];
    const stints = stintsOf(book, site, found);
    const people = [...new Set(stints.flatMap((stint) => stint.people))].sort((a, b) => a - b);
    const entries = stints.map(({ task, from, to }) => {
      const span = { start: formatInstant(from, site.timeZone), end: formatInstant(to, site.timeZone) };
      return this.entry(task, span);
    });
    const who = `${site.id}/${group}`;
    return [
      { who, name: found.name, entries: sorted(book, entries) },
      ...people.map((number) => ({
        who: `${who}/${number}`,
        name: `${found.name} ${number}`,
        entries: sorted(
          book,
          entries.filter((_, i) => stints[i]!.people.includes(number)),
        ),
      })),
    ];
  }
}

function sorted(book: Book, entries: readonly DiaryEntry[]): DiaryEntry[] {
  return [...entries].sort((a, b) => book.minute(a.start) - book.minute(b.start) || (a.id < b.id ? -1 : 1));
}

function unitsOf(site: Site): string[] {
  return [
    ...[...site.mixers, ...site.fridges, ...site.benches, ...site.proofers, ...site.kettles].map(({ id }) => id),
    ...site.ovens.flatMap((oven) => oven.decks.map((deck) => `${oven.id}/${deck.id}`)),
    ...site.racks.map(({ id }) => id),
  ].map((id) => `${site.id}/${id}`);
}

/** The calendars of all stations, crew groups and people that have anything to do. */
export function diariesOf(day: DayDocuments, timetable: Timetable): Diary[] {
  const maker = new DiaryMaker(new Book(day, timetable));
  return day.network.sites
    .flatMap((site) => [
      ...unitsOf(site).map((unit) => maker.station(unit)),
      ...site.crew.flatMap(({ id }) => maker.crew(site, id)),
    ])
    .filter(({ entries }) => entries.length > 0);
}
