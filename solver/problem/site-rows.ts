import type { Fridge, Kettle, Oven, Site } from "../../schemas/index.js";
import { absencesOf, crewCapacity } from "../calendar.js";
import { positionsOnDeck } from "../geometry/index.js";
import { heatUpMinutes } from "../trade/kettle.js";
import { leadMinutes, ovenLeadMinutes } from "../trade/oven.js";
import { classRows, closeLeads, closeOutages, stretchesOf, type UseClass } from "./class-rows.js";
import { type DayIndex, outagesOf } from "./day-index.js";
import type { RowBook } from "./row-book.js";
import { shelfPlan } from "./shelf-plan.js";

/** Money to the search's integers. */
export const MILLS = 1000;

/** What one deck class bakes: a setpoint and the kind of pan. */
export interface DeckClass {
  readonly tempC: number;
  readonly panType: string;
  /** The highest item of the class. */
  readonly itemHeightMm: number;
}

/** What stands in fridges: tubs or pans of one type, at their highest and heaviest. */
export interface ContainerKind {
  readonly key: string;
  readonly kind: "pan" | "tub";
  readonly type: string;
  readonly itemHeightMm: number;
  readonly itemMassG: number;
  /** How many are likely to stand at once, to share out the shelves, and how many of them will whatever the times. */
  readonly demand: number;
  readonly least: number;
}

/** Everything a site is asked to do, over all products that may be made there. */
export interface SiteUse {
  readonly mixing: readonly UseClass[];
  readonly bench: readonly UseClass[];
  readonly kettle: readonly UseClass[];
  readonly decks: readonly DeckClass[];
  readonly containers: readonly ContainerKind[];
}

export interface ShelfPosition {
  readonly unit: string;
  readonly position: number;
}

/** Shelves of one fridge that hold one kind and are in service at the same times. */
export interface ShelfGroup {
  readonly row: number;
  readonly fridge: Fridge;
  readonly heatRow: number;
  readonly container: string;
  readonly positions: readonly ShelfPosition[];
}

export interface DeckRow {
  readonly row: number;
  readonly unit: string;
  readonly deckIndex: number;
  readonly oven: Oven;
  readonly tempC: number;
  readonly panType: string;
  readonly positions: number;
}

/** The rows of a site, by what is asked of them. */
export interface SiteRows {
  readonly site: Site;
  readonly crew: ReadonlyMap<string, number>;
  /** `${unit id} ${class key}` to row. */
  readonly mixers: ReadonlyMap<string, number>;
  readonly benches: ReadonlyMap<string, number>;
  readonly kettles: ReadonlyMap<string, number>;
  readonly shelves: readonly ShelfGroup[];
  readonly proofers: ReadonlyMap<string, number>;
  readonly racks: ReadonlyMap<string, number>;
  readonly decks: readonly DeckRow[];
  readonly pans: ReadonlyMap<string, number>;
  readonly tubs: ReadonlyMap<string, number>;
}

const NO_HEADS = new Int32Array(0);

function crewRows(index: DayIndex, book: RowBook, site: Site): Map<string, number> {
  const window = { fromMinute: index.origin, toMinute: index.origin + index.horizon };
  const rows = new Map<string, number>();
  for (const group of site.crew) {
    const absences = absencesOf(index.day.happenings, site, group.id);
    const capacity = crewCapacity(group, site.timeZone, absences, window);
    const line = new Int32Array(capacity.regular);
    // Most groups work no overtime.
    const extra = capacity.overtime.length === 0 ? NO_HEADS : new Int32Array(index.horizon);
    let costPerHour = 0;
    let leastPerHour = Number.POSITIVE_INFINITY;
    for (const overtime of capacity.overtime) {
      costPerHour = Math.max(costPerHour, overtime.costPerHour);
      leastPerHour = Math.min(leastPerHour, overtime.costPerHour);
      const { capacity: heads } = overtime;
      for (let t = 0; t < heads.length; t++) {
        line[t] = line[t]! + heads[t]!;
        extra[t] = extra[t]! + heads[t]!;
      }
    }
    const meaning = { kind: "crew" as const, site: site.id, of: group.id };
    const overtime =
      capacity.overtime.length === 0 ? null : { heads: extra, costPerMinute: Math.round((costPerHour * MILLS) / 60) };
    rows.set(group.id, book.addLine(meaning, line, overtime, (leastPerHour * MILLS) / 60));
  }
  return rows;
}

function kettleRows(index: DayIndex, book: RowBook, site: Site, kettle: Kettle, classes: readonly UseClass[]) {
  const unit = `${site.id}/${kettle.id}`;
  const rows = classRows(index, book, { kind: "kettle", site: site.id, unit }, 1, classes, kettle.cleaningMinutes ?? 0);
  const stretches = stretchesOf(index.horizon, outagesOf(index, unit));
  const leadMinutes = heatUpMinutes(kettle, site);
  const costPerMinute = ((kettle.netHeatW / 1000) * (site.energyPricePerKwh ?? 0) * MILLS) / 60;
  const heater = book.addHeater(
    { leadMinutes, stretches, noLead: new Int32Array(0) },
    { costPerMinute, changeCost: 0 },
  );
  const distinct = [...new Set(rows.values())];
  for (const row of distinct) book.heat(row, heater, 0);
  closeOutages(index, book, unit, distinct);
  closeLeads(book, distinct, stretches, leadMinutes);
  return rows;
}

/** Minutes for an empty deck (or its whole oven, when the thermostat is shared) to go from one temperature to another. */
export function changeMinutes(oven: Oven, fromDeck: number, fromC: number, toC: number): number {
  let rate = Number.POSITIVE_INFINITY;
  for (let d = 0; d < oven.decks.length; d++) {
    const deck = oven.decks[d]!;
    if (oven.sharedThermostat || d === fromDeck)
      rate = Math.min(rate, toC > fromC ? deck.heatUpCPerMinute : deck.coolDownCPerMinute);
  }
  return Math.ceil(Math.abs(toC - fromC) / rate - 1e-9);
}

function ovenHeaters(
  index: DayIndex,
  book: RowBook,
  site: Site,
  oven: Oven,
): { heater: number; stretches: Int32Array; lead: number }[] {
  const changeCost = index.weights.setpointChange * MILLS;
  const price = site.energyPricePerKwh ?? 0;
  const make = (lead: number, powerKw: number, stretches: Int32Array) => ({
    lead,
    stretches,
    heater: book.addHeater(
      { leadMinutes: lead, stretches, noLead: new Int32Array(0) },
      { costPerMinute: (powerKw * price * MILLS) / 60, changeCost },
    ),
  });
  if (!oven.sharedThermostat) {
    return oven.decks.map((deck) => {
      const outages = outagesOf(index, `${site.id}/${oven.id}/${deck.id}`);
      return make(leadMinutes(deck, site.roomTempC), deck.powerKw, stretchesOf(index.horizon, outages));
    });
  }
  const outages = outagesOf(index, `${site.id}/${oven.id}`);
  const shared = make(
    ovenLeadMinutes(oven, site),
    oven.decks.reduce((sum, deck) => sum + deck.powerKw, 0),
    stretchesOf(index.horizon, outages),
  );
  return oven.decks.map(() => shared);
}

function ovenRows(index: DayIndex, book: RowBook, site: Site, oven: Oven, classes: readonly DeckClass[]): DeckRow[] {
  const heaters = ovenHeaters(index, book, site, oven);
  const rows: DeckRow[] = [];
  for (let deckIndex = 0; deckIndex < oven.decks.length; deckIndex++) {
    const deck = oven.decks[deckIndex]!;
    const unit = `${site.id}/${oven.id}/${deck.id}`;
    for (const { tempC, panType, itemHeightMm } of classes) {
      if (tempC > deck.maxTempC) continue;
      const { count } = positionsOnDeck(deck, index.panTypes.get(panType)!, itemHeightMm);
      if (count === 0) continue;
      const row = book.add({ kind: "deck-positions", site: site.id, unit }, count);
      book.heat(row, heaters[deckIndex]!.heater, tempC);
      closeOutages(index, book, unit, [row]);
      closeLeads(book, [row], heaters[deckIndex]!.stretches, heaters[deckIndex]!.lead);
      rows.push({ row, unit, deckIndex, oven, tempC, panType, positions: count });
    }
  }
  excludeDecks(book, oven, rows);
  return rows;
}

/** Rows of one oven that shut each other out. */
function excludeDecks(book: RowBook, oven: Oven, rows: readonly DeckRow[]): void {
  for (const own of rows) {
    for (const other of rows) {
      if (own === other) continue;
      const sameDeck = own.deckIndex === other.deckIndex;
      const sameTemp = own.tempC === other.tempC;
      if (sameTemp && !sameDeck) continue;
      if (!sameTemp && !sameDeck && !oven.sharedThermostat) continue;
      const before = sameTemp ? 0 : changeMinutes(oven, own.deckIndex, other.tempC, own.tempC);
      const after = sameTemp ? 0 : changeMinutes(oven, own.deckIndex, own.tempC, other.tempC);
      book.exclude(own.row, other.row, before, after);
    }
  }
}

/** When a position of a shelf is out of use: with its shelf, its fridge, or because the shelf has become smaller. */
function closuresOf(index: DayIndex, unit: string, position: number): { from: number; to: number }[] {
  const closed: { from: number; to: number }[] = outagesOf(index, unit);
  for (const small of index.shrinkages) if (small.unit === unit && position > small.positions) closed.push(small);
  return closed;
}

function shelfRows(index: DayIndex, book: RowBook, site: Site, containers: readonly ContainerKind[]): ShelfGroup[] {
  const heatRows = new Map<string, number>();
  for (const fridge of site.fridges) {
    const unit = `${site.id}/${fridge.id}`;
    heatRows.set(fridge.id, book.add({ kind: "fridge-heat", site: site.id, unit }, Math.floor(fridge.heatRemovalW)));
  }
  const groups = new Map<
    string,
    { group: Omit<ShelfGroup, "row">; positions: ShelfPosition[]; closed: readonly { from: number; to: number }[] }
  >();
  for (const { fridge, shelf, container, count } of shelfPlan(site, index, containers)) {
    const unit = `${site.id}/${fridge.id}/${shelf.id}`;
    const isSmaller = index.shrinkages.some((small) => small.unit === unit);
    let closed: { from: number; to: number }[] | undefined;
    let key = "";
    for (let position = 1; position <= count; position++) {
      // All positions of a shelf are closed at the same times, unless it has become smaller.
      if (!closed || isSmaller) {
        closed = closuresOf(index, unit, position);
        key = `${fridge.id} ${container.key} ${closed.map(({ from, to }) => `${from}-${to}`).join(",")}`;
      }
      let entry = groups.get(key);
      if (!entry) {
        const positions: ShelfPosition[] = [];
        const heatRow = heatRows.get(fridge.id)!;
        entry = { positions, closed, group: { fridge, heatRow, container: container.key, positions } };
        groups.set(key, entry);
      }
      entry.positions.push({ unit, position });
    }
  }
  return [...groups.values()].map(({ group, positions, closed }) => {
    const meaning = {
      kind: "fridge-positions" as const,
      site: site.id,
      unit: `${site.id}/${group.fridge.id}`,
      of: group.container,
      shelves: [...new Set(positions.map((position) => position.unit))],
    };
    const row = book.add(meaning, positions.length);
    for (const { from, to } of closed) book.close(row, from, to);
    return { ...group, row };
  });
}

/** Makes all rows of a site in a book. */
export function siteRows(index: DayIndex, book: RowBook, site: Site, use: SiteUse): SiteRows {
  const prefixed = (id: string, rows: Map<string, number>): [string, number][] =>
    [...rows].map(([key, row]) => [`${id} ${key}`, row]);
  const mixers = site.mixers.flatMap((mixer) => {
    const unit = `${site.id}/${mixer.id}`;
    const rows = classRows(
      index,
      book,
      { kind: "mixer", site: site.id, unit },
      1,
      use.mixing,
      mixer.cleaningMinutes ?? 0,
    );
    closeOutages(index, book, unit, [...rows.values()]);
    return prefixed(mixer.id, rows);
  });
  const benches = site.benches.flatMap((bench) => {
    const unit = `${site.id}/${bench.id}`;
    const rows = classRows(
      index,
      book,
      { kind: "bench", site: site.id, unit },
      bench.places,
      use.bench,
      bench.cleaningMinutes ?? 0,
    );
    closeOutages(index, book, unit, [...rows.values()]);
    return prefixed(bench.id, rows);
  });
  const kettles = site.kettles.flatMap((kettle) =>
    prefixed(kettle.id, kettleRows(index, book, site, kettle, use.kettle)),
  );
  const simple = (kind: "proofer-positions" | "rack-positions", id: string, positions: number): number => {
    const unit = `${site.id}/${id}`;
    const row = book.add({ kind, site: site.id, unit }, positions);
    closeOutages(index, book, unit, [row]);
    return row;
  };
  return {
    site,
    crew: crewRows(index, book, site),
    mixers: new Map(mixers),
    benches: new Map(benches),
    kettles: new Map(kettles),
    shelves: shelfRows(index, book, site, use.containers),
    proofers: new Map(site.proofers.map((p) => [p.id, simple("proofer-positions", p.id, p.positions)])),
    racks: new Map(site.racks.map((rack) => [rack.id, simple("rack-positions", rack.id, rack.positions)])),
    decks: site.ovens.flatMap((oven) => ovenRows(index, book, site, oven, use.decks)),
    pans: new Map(
      site.pans.map(({ panType, count }) => [panType, book.add({ kind: "pans", site: site.id, of: panType }, count)]),
    ),
    tubs: new Map(
      site.tubs.map(({ tubType, count }) => [tubType, book.add({ kind: "tubs", site: site.id, of: tubType }, count)]),
    ),
  };
}
