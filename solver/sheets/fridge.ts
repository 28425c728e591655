import type { Fridge, Load, Place, Site, Task } from "../../schemas/index.js";
import { spanText } from "../local-clock.js";
import { stoodWarm } from "../repair/warm.js";
import { WARM_CAUTION, warmText } from "../repair/warm-words.js";
import { greatestRetardMinutes } from "../trade/fermentation.js";
import { chillHeatW, peakOf } from "../trade/fridge-load.js";
import { limitOf } from "../trade/holding.js";
import type { Book } from "./book.js";
import { comesFrom, goesOn } from "./carries.js";
import { sheetOf } from "./make.js";
import type { Fact, Row, Sheet } from "./model.js";

interface Stay {
  readonly task: Task;
  readonly load: Load;
  readonly place: Place;
}

function staysIn(book: Book, unit: string): Stay[] {
  return book
    .tasks((task) => task.does === "retard")
    .flatMap((task) => {
      const load = book.load(task.load);
      if (!load) return [];
      return (task.places ?? [])
        .filter((place) => place.unit.startsWith(`${unit}/`))
        .map((place) => ({ task, load, place }));
    });
}

function tubOf({ load, place }: Stay) {
  return load.tubs.find((tub) => tub.id === place.item);
}

/** The fridge that an item stood in first: it counts for all its way through the cold (D10). */
function firstFridge(book: Book, first: Task, item: string): Fridge | undefined {
  const place = first.places?.find((one) => one.item === item);
  const [site, id] = place?.unit.split("/") ?? [];
  return book.sites.get(site ?? "")?.fridges.find((fridge) => fridge.id === id);
}

/** When the item may leave the cold: route's least and greatest, and for a tub its fermentation. */
function outTimes(book: Book, stay: Stay, site: Site) {
  const { load, task, place } = stay;
  const step = book.standingStep(load, "retard");
  const first = book.tasksOfLoad(load.id).find(({ does }) => does === "retard") ?? task;
  const dough = book.doughOf(load);
  const tub = tubOf(stay);
  const tubType = book.tubTypes.get(dough.tubType ?? "");
  const fridge = firstFridge(book, first, place.item);
  const fermentMinutes =
    tub && tubType && fridge ? greatestRetardMinutes(dough, tubType, fridge, tub.doughG) : Number.POSITIVE_INFINITY;
  const least = step?.leastMinutes ?? 0;
  const greatest = step?.greatestMinutes ?? 0;
  return {
    earliest: book.later(first.start, least, site),
    latest: book.later(first.start, Math.min(greatest, fermentMinutes), site),
    bound: fermentMinutes < greatest ? ("fermentation" as const) : ("route" as const),
  };
}

/** The evening's greatest heat load beside what the fridge removes. */
function heatFact(book: Book, fridge: Fridge, stays: readonly Stay[]): Fact[] {
  const loads = new Map(
    stays.filter(({ task, load }) => task.id === `${load.id}-retard`).map((stay) => [stay.load.id, stay]),
  );
  const flows = [...loads.values()].map(({ load, task }) => {
    const dough = book.doughOf(load);
    const from = book.minute(task.start);
    const to = Math.min(book.minute(task.end), from + (dough.chill?.withinMinutes ?? 0));
    return { from, to, watts: chillHeatW(dough, load.doughG) };
  });
  const peak = peakOf(flows);
  if (!peak || peak.watts === 0) return [];
  const at = stays.find(({ task }) => book.minute(task.start) === peak.at)!.task.start;
  return [
    {
      label: "Heat load, at most",
      value: `${(peak.watts / 1000).toFixed(1)} of ${(fridge.heatRemovalW / 1000).toFixed(1)} kW`,
      as: "text",
      note: "computed, steady flow",
    },
    { label: "at", value: at, as: "clock" },
  ];
}

/** A task of which only this item's place is looked at. */
function ofItem(task: Task, item: string): Task {
  return { ...task, places: (task.places ?? []).filter((place) => place.item === item) };
}

/** What is carried to or from other positions, because a shelf fails: where to and when, and where from. */
function carriedText(book: Book, site: Site, task: Task, { item }: Place): string[] {
  const on = goesOn(book, task, (whole) => ofItem(whole, item));
  const from = comesFrom(book, task, (whole) => ofItem(whole, item));
  return [
    ...(from ? [`CARRIED from ${from.where}`] : []),
    ...(on ? [`${book.clock(on.rest.start, site)} CARRY to ${on.where}`] : []),
  ];
}

/** Shelf by shelf, position by position, who is there from when to when. */
function mapSheet(book: Book, site: Site, fridge: Fridge, stays: readonly Stay[]): Sheet {
  const unit = `${site.id}/${fridge.id}`;
  const most = Math.max(...stays.map(({ place }) => place.position));
  const columns = Array.from({ length: most }, (_, i) => ({
    key: `p${i + 1}`,
    title: `${i + 1}`,
    as: "list" as const,
  }));
  const rows = fridge.shelves.flatMap((shelf): Row[] => {
    const here = stays.filter(({ place }) => place.unit === `${unit}/${shelf.id}`);
    if (here.length === 0) return [];
    const row: Record<string, string | string[]> = { shelf: shelf.id };
    for (const { key, title } of columns) {
      row[key] = here
        .filter(({ place }) => place.position === Number(title))
        .flatMap(({ task, place }) => [
          place.item,
          spanText(book.clock(task.start, site), book.clock(task.end, site)),
          ...carriedText(book, site, task, place),
        ]);
    }
    return [row];
  });
  return sheetOf(site, {
    kind: "shelf-map",
    name: fridge.id,
    title: `Shelf map: ${fridge.name}`,
    subtitle: "Position 1 is front left; each entry: tub or pan, in and out",
    from: stays[0]!.task.start,
    facts: [{ label: "Air", value: fridge.airTempC, as: "temp" }, ...heatFact(book, fridge, stays)],
    tables: [{ id: "map", columns: [{ key: "shelf", title: "Shelf", as: "strong" }, ...columns], rows }],
    allergens: book.allergensOfLoads(stays.map(({ load }) => load)),
    cautions: ["cold-chain", "lifting"],
  });
}

/** A label for each tub, and one for each load of pans. */
function labelSheet(book: Book, site: Site, fridge: Fridge, stays: readonly Stay[]): Sheet {
  const seen = new Set<string>();
  const rows = stays.flatMap((stay): Row[] => {
    const { load, task, place } = stay;
    // What is carried on has one label: where it is then, in the cold since it first went in.
    if (book.restOf(task)) return [];
    const tub = tubOf(stay);
    const key = tub ? `${tub.id} ${task.id}` : task.id;
    if (seen.has(key)) return [];
    seen.add(key);
    const dough = book.doughOf(load);
    const product = book.product(load);
    const out = outTimes(book, stay, site);
    return [
      {
        product: product.name,
        dough: tub ? dough.name : "",
        item: tub ? tub.id : `${load.pans} pans ${load.id}`,
        batch: load.batch,
        massG: tub ? tub.doughG : null,
        place: tub ? `${place.unit.split("/").slice(1).join(" ")} (${place.position})` : book.places(task),
        in: (book.firstOf(task) ?? task).start,
        earliest: out.earliest,
        latest: out.latest,
        planned: task.end,
        allergens: book.allergens(tub ? book.doughIngredients(dough) : book.productIngredients(product)).join(", "),
      },
    ];
  });
  return sheetOf(site, {
    kind: "labels",
    name: fridge.id,
    title: `Labels: ${fridge.name}`,
    subtitle: "Cut out; one on each tub, one on each set of pans",
    from: stays[0]!.task.start,
    tables: [
      {
        id: "labels",
        shape: "cards",
        columns: [
          { key: "product", title: "", as: "strong" },
          { key: "item", title: "", as: "text" },
          { key: "batch", title: "Batch", as: "text" },
          { key: "dough", title: "Dough", as: "text" },
          { key: "massG", title: "Mass", as: "mass" },
          { key: "place", title: "Place", as: "text" },
          { key: "in", title: "In", as: "clock" },
          { key: "earliest", title: "Not before", as: "clock" },
          { key: "latest", title: "Not after", as: "clock" },
          { key: "planned", title: "Plan", as: "clock" },
          { key: "allergens", title: "Allergens", as: "text" },
        ],
        rows,
      },
    ],
    allergens: book.allergensOfLoads(stays.map(({ load }) => load)),
  });
}

/** Room for what is measured: tubs' middles at the chilling limit, and times out of the cold. */
function logSheet(book: Book, site: Site, stays: readonly (Stay & { readonly fridge: Fridge })[]): Sheet {
  const chilled = new Map<string, Row>();
  const warm: Row[] = [];
  const seen = new Set<string>();
  for (const { task, load, place } of stays) {
    const dough = book.doughOf(load);
    const tub = load.tubs.find(({ id }) => id === place.item);
    const isFirst = task.id === `${load.id}-retard`;
    if (tub && dough.chill && isFirst && !chilled.has(load.id)) {
      const heaviest = load.tubs.reduce((most, each) => (each.doughG > most.doughG ? each : most));
      const at = load.tubs.length > 1 ? `${heaviest.id} (of ${load.tubs.length})` : heaviest.id;
      chilled.set(load.id, {
        tub: at,
        in: task.start,
        by: book.later(task.start, dough.chill.withinMinutes, site),
        tempC: dough.chill.toTempC,
        measured: null,
        when: null,
        who: null,
      });
    }
    const limit = limitOf(book.day.settings, dough);
    const bake = book.taskOfLoad(load.id, "bake");
    const isLast =
      task.id ===
      book
        .tasksOfLoad(load.id)
        .filter(({ does }) => does === "retard")
        .at(-1)?.id;
    if (limit.warmMinutes === undefined || !bake || !isLast || seen.has(load.id)) continue;
    seen.add(load.id);
    warm.push({
      load: load.id,
      out: task.end,
      bake: bake.start,
      by: book.later(task.end, limit.warmMinutes, site),
      tookOut: null,
      tempOut: null,
      inOven: null,
      who: null,
    });
  }
  const labels = [
    ...new Set(
      stays.flatMap(({ load }) => {
        const limit = limitOf(book.day.settings, book.doughOf(load));
        return limit.labels;
      }),
    ),
  ];
  const tables = [];
  if (chilled.size > 0)
    tables.push({
      id: "chilling",
      title: "Middle of the tub: heaviest of each load",
      columns: [
        { key: "tub", title: "Tub", as: "strong" as const },
        { key: "in", title: "In", as: "clock" as const },
        { key: "by", title: "Measure by", as: "clock" as const },
        { key: "tempC", title: "At most", as: "temp" as const },
        { key: "measured", title: "Measured", as: "blank" as const },
        { key: "when", title: "When", as: "blank" as const },
        { key: "who", title: "Who", as: "blank" as const },
      ],
      rows: [...chilled.values()],
    });
  if (warm.length > 0)
    tables.push({
      id: "warm",
      title: "Time out of the cold",
      columns: [
        { key: "load", title: "Load", as: "strong" as const },
        { key: "out", title: "Out", as: "clock" as const },
        { key: "bake", title: "In oven", as: "clock" as const },
        { key: "by", title: "Latest", as: "clock" as const },
        { key: "tookOut", title: "Taken out", as: "blank" as const },
        { key: "tempOut", title: "Temp.", as: "blank" as const },
        { key: "inOven", title: "In oven", as: "blank" as const },
        { key: "who", title: "Who", as: "blank" as const },
      ],
      rows: [...warm].sort((a, b) => book.minute(a.out as string) - book.minute(b.out as string)),
    });
  const fridges = [...new Map(stays.map(({ fridge }) => [fridge.id, fridge])).values()];
  tables.push({
    id: "air",
    title: "Air of the fridges",
    columns: [
      { key: "fridge", title: "Fridge", as: "strong" as const },
      { key: "tempC", title: "Planned", as: "temp" as const },
      ...["First", "Second", "Third", "Fourth"].map((title, i) => ({ key: `m${i}`, title, as: "blank" as const })),
    ],
    rows: fridges.map(
      (fridge): Row => ({ fridge: fridge.name, tempC: fridge.airTempC, m0: null, m1: null, m2: null, m3: null }),
    ),
  });
  return sheetOf(site, {
    kind: "log",
    name: "",
    title: "Cold chain log",
    subtitle: "Measure with a clean probe and write down; the plan's figures are computed",
    from: stays[0]!.task.start,
    tables,
    cautions: ["cold-chain", ...(warm.length > 0 ? (["time-limit"] as const) : [])],
    notes: [...labels.map((label) => `Limit: ${label}.`), ...warmNotes(book, site)],
  });
}

/** What the plan does not know to be warm, as it was told. */
function warmNotes(book: Book, site: Site): string[] {
  const warm = stoodWarm(book.day, book.timetable).filter((one) => one.site === site.id);
  if (warm.length === 0) return [];
  return [...warm.map((one) => warmText(one, (at, where) => book.clock(at, book.sites.get(where)!))), WARM_CAUTION];
}

/** Map, labels and log of every fridge that holds anything. */
export function fridgeSheets(book: Book): Sheet[] {
  return book.day.network.sites.flatMap((site) => {
    const all: (Stay & { fridge: Fridge })[] = [];
    const sheets = site.fridges.flatMap((fridge) => {
      const stays = staysIn(book, `${site.id}/${fridge.id}`);
      if (stays.length === 0) return [];
      all.push(...stays.map((stay) => ({ ...stay, fridge })));
      return [mapSheet(book, site, fridge, stays), labelSheet(book, site, fridge, stays)];
    });
    all.sort((a, b) => book.minute(a.task.start) - book.minute(b.task.start));
    return all.length === 0 ? sheets : [...sheets, logSheet(book, site, all)];
  });
}
