import type { Oven, Site, Task } from "../../schemas/index.js";
import { panItemHeightMm, positionsOnDeck } from "../geometry/index.js";
import { spanText } from "../local-clock.js";
import { gapSaving, leadMinutes, ovenLeadMinutes } from "../trade/oven.js";
import { type Book, runs } from "./book.js";
import { comesFrom, goesOn } from "./carries.js";
import { sheetOf } from "./make.js";
import type { Drawing, Row, Sheet } from "./model.js";

/** The deck with its positions, for each pan type that is baked on it. */
function drawingsOf(book: Book, oven: Oven, deckIndex: number, bakes: readonly Task[]): Drawing[] {
  const deck = oven.decks[deckIndex]!;
  const drawn = new Map<string, Drawing>();
  for (const task of bakes) {
    const load = book.load(task.load);
    if (!load) continue;
    const product = book.product(load);
    const panType = book.panTypes.get(product.panType);
    if (!panType || drawn.has(panType.id)) continue;
    const { layout } = positionsOnDeck(deck, panType, panItemHeightMm(product, panType));
    if (!layout) continue;
    drawn.set(panType.id, {
      title: panType.name,
      widthMm: deck.widthMm,
      depthMm: deck.depthMm,
      places: layout.places.map(({ xMm, yMm, widthMm, depthMm }, i) => ({
        label: `${i + 1}`,
        xMm,
        yMm,
        widthMm,
        depthMm,
      })),
    });
  }
  return [...drawn.values()];
}

function rackText(book: Book, cool: Task | undefined): string {
  if (!cool) return "";
  const racks = book.sites.get(cool.site)?.racks.length ?? 0;
  return racks === 1 ? runs((cool.places ?? []).map(({ position }) => position)) : book.places(cool);
}

function positionsText(task: Task): string {
  return runs((task.places ?? []).map(({ position }) => position));
}

interface Event {
  readonly at: string;
  readonly order: number;
  readonly row: Row;
}

/** Gaps through which the deck could be off, by its mean draw; advice, the timetable keeps it hot. */
function gapNotes(book: Book, site: Site, oven: Oven, deckIndex: number, bakes: readonly Task[]): string[] {
  if (oven.sharedThermostat) return [];
  const deck = oven.decks[deckIndex]!;
  const lead = leadMinutes(deck, site.roomTempC);
  const unit = `${site.id}/${oven.id}/${deck.id}`;
  const on = book.timetable.ovenProgram.find((entry) => entry.deck === unit)?.on ?? [];
  const notes: string[] = [];
  let busyTo = bakes[0]!;
  for (const bake of bakes.slice(1)) {
    const gap = book.minute(bake.start) - book.minute(busyTo.end);
    const inOneStretch = on.some(
      (span) => book.minute(span.from) <= book.minute(busyTo.start) && book.minute(bake.end) <= book.minute(span.to),
    );
    const saving =
      gap > 30 && inOneStretch
        ? gapSaving({
            gapMinutes: gap,
            setpointC: bake.tempC ?? deck.maxTempC,
            roomTempC: site.roomTempC,
            leadFromColdMinutes: lead,
            coolDownCPerMinute: deck.coolDownCPerMinute,
            powerKw: deck.powerKw,
          })
        : null;
    if (saving && saving.savedKwh >= 1)
      notes.push(
        `Empty ${spanText(book.clock(busyTo.end, site), book.clock(bake.start, site))}: could be off until ${book.clock(book.later(busyTo.end, saving.offMinutes, site), site)}, about ${saving.savedKwh.toFixed(1)} kWh less (by the cool-down rate and the preheat lead; the timetable keeps it hot).`,
      );
    if (book.minute(bake.end) > book.minute(busyTo.end)) busyTo = bake;
  }
  return notes;
}

function deckSheet(book: Book, site: Site, oven: Oven, deckIndex: number): Sheet | null {
  const deck = oven.decks[deckIndex]!;
  const unit = `${site.id}/${oven.id}/${deck.id}`;
  const bakes = book.tasks((task) => task.unit === unit && task.does === "bake");
  const program = book.timetable.ovenProgram.find((entry) => entry.deck === unit);
  if (bakes.length === 0 || !program) return null;
  const events: Event[] = [];
  const say = (at: string, order: number, row: Row): void =>
    void events.push({ at, order, row: { done: false, at, ...row } });
  const first = new Set(program.on.map((span) => span.from));
  for (const set of program.setpoints) {
    const lights = first.has(set.at);
    say(set.at, lights ? 0 : 1, {
      does: lights ? "ON" : "SET",
      tempC: set.tempC,
      what: `hot from ${book.clock(set.hotFrom, site)}`,
    });
  }
  for (const span of program.on) say(span.to, 4, { does: "OFF", tempC: null, what: "" });
  for (const task of bakes) {
    const load = book.load(task.load);
    if (!load) continue;
    const positions = positionsText(task);
    const about = { load: load.id, pans: load.pans, positions, tempC: task.tempC ?? null };
    const on = goesOn(book, task);
    const from = comesFrom(book, task);
    say(task.start, 3, {
      ...about,
      does: from ? "carry in" : "load",
      what: from ? `${book.what(load)}: half-baked from ${from.where}, ${from.minutes} min more` : book.what(load),
      out: task.end,
      // Nothing that is not done goes to the rack.
      to: on ? "not done" : rackText(book, book.taskOfLoad(load.id, "cool")),
    });
    if (on)
      say(task.end, 2, {
        ...about,
        does: "OUT",
        tempC: null,
        what: `${book.what(load)}: NOT DONE, carry to ${on.where}`,
        to: `${on.where}: ${positionsText(on.rest)}, in ${book.clock(on.rest.start, site)}`,
      });
  }
  events.sort((a, b) => book.minute(a.at) - book.minute(b.at) || a.order - b.order);
  const lead = oven.sharedThermostat ? ovenLeadMinutes(oven, site) : leadMinutes(deck, site.roomTempC);
  const measured = deck.coldStartMinutes !== undefined;
  return sheetOf(site, {
    kind: "oven",
    name: `${oven.id}-${deck.id}`,
    title: `${oven.name}, ${deck.id}`,
    subtitle: oven.sharedThermostat ? "one thermostat for all decks" : "own thermostat",
    from: program.on[0]?.from ?? bakes[0]!.start,
    facts: [
      { label: "On", value: program.on[0]?.from ?? null, as: "clock" },
      { label: "First load", value: bakes[0]!.start, as: "clock" },
      { label: "Off", value: program.on.at(-1)?.to ?? null, as: "clock" },
      { label: "Preheat", value: lead, as: "minutes", note: measured ? "as measured" : "from the heat balance" },
    ],
    tables: [
      {
        id: "program",
        columns: [
          { key: "done", title: "", as: "tick" },
          { key: "at", title: "At", as: "clock" },
          { key: "does", title: "Do", as: "text" },
          { key: "tempC", title: "Deck", as: "temp" },
          { key: "what", title: "What", as: "strong" },
          { key: "load", title: "Load", as: "text" },
          { key: "pans", title: "Pans", as: "count" },
          { key: "positions", title: "Positions", as: "text" },
          { key: "out", title: "Out", as: "clock" },
          { key: "to", title: "To rack", as: "text" },
        ],
        rows: events.map(({ row }) => row),
      },
    ],
    drawings: drawingsOf(book, oven, deckIndex, bakes),
    allergens: book.allergensOfLoads(bakes.flatMap((task) => book.load(task.load) ?? [])),
    cautions: ["hot-decks", ...(bakes.some((task) => book.meetsLye(task)) ? (["lye"] as const) : [])],
    notes: gapNotes(book, site, oven, deckIndex, bakes),
  });
}

/** The program of every deck that is used. */
export function ovenSheets(book: Book): Sheet[] {
  return book.day.network.sites.flatMap((site) =>
    site.ovens.flatMap((oven) => oven.decks.flatMap((_, i) => deckSheet(book, site, oven, i) ?? [])),
  );
}
