import type { Kettle, Site, Task } from "../../schemas/index.js";
import { type Bath, bathName, type Filling, isLye } from "../baths.js";
import { NOBODY_CLEANS } from "../cleanings.js";
import type { Caution } from "../trade/cautions.js";
import {
  boilCycleSeconds,
  boilingTempC,
  evaporationKgPerHour,
  heatUpBeyondCleaning,
  piecesPerDip,
  sustainedPiecesPerHour,
} from "../trade/kettle.js";
import { gToLb } from "../trade/units.js";
import type { Book } from "./book.js";
import { sheetOf } from "./make.js";
import type { Row, Sheet } from "./model.js";

/** "28 28 5" or "6 x 28, last 5". */
function dipText(task: Task): string {
  const dips = task.dips ?? [];
  const full = dips[0]?.pieces ?? 0;
  const last = dips.at(-1)?.pieces ?? 0;
  if (dips.length <= 1) return `1 of ${full}`;
  return last === full ? `${dips.length} of ${full}` : `${dips.length - 1} of ${full}, last ${last}`;
}

/** The bath as it stands in a narrow column: lye is not overlooked. */
function bathText(bath: Bath): string {
  return isLye(bath) ? bathName(bath).toUpperCase() : "water";
}

function lyeMass(book: Book, bath: Bath): string {
  return book.day.settings.units === "us-customary"
    ? `${gToLb(bath.lyeG).toFixed(2)} lb`
    : `${Number((bath.lyeG / 1000).toFixed(3))} kg`;
}

const FILLED: Readonly<Record<Filling["kind"], string>> = {
  first: "FILL",
  clean: "CLEAN, FILL",
  unplanned: "NO CLEANING PLANNED: EMPTY, FILL",
};

/** What goes in when the kettle is filled; the last cleaning of the day leaves it empty. */
function fillRow(book: Book, { kind, start, end, task, bath }: Filling): Row {
  const why = task ? book.whyClean(task) : "";
  const lye = isLye(bath) ? `, then ${lyeMass(book, bath!)} lye` : "";
  const light = kind === "first" && start !== end ? "; light" : "";
  return {
    done: false,
    start,
    end,
    what: `${bath ? `${FILLED[kind]} fresh and cold${lye}${light}` : "CLEAN, nothing boils after"}${why === "" || !bath ? "" : `: ${why}`}`,
    bath: bath ? bathText(bath) : "",
    ...(isLye(bath) ? { lyeG: bath!.lyeG } : {}),
  };
}

/** "60 l: plain water", or the baths that take turns. */
function subtitleOf(kettle: Kettle, fillings: readonly Filling[]): string {
  const names = [...new Set(fillings.flatMap(({ bath }) => (bath ? bathName(bath) : [])))];
  return `${kettle.litres} l: ${names.length > 1 ? `in turn ${names.join(" and ")}` : (names[0] ?? "")}`;
}

/** How the lye is reckoned, for each strength of the day. */
function lyeNotes(book: Book, baths: readonly Bath[]): string[] {
  const strengths = new Map(baths.filter(isLye).map((bath) => [bath.lyePercent!, bath]));
  return [...strengths].map(
    ([percent, bath]) =>
      `Lye ${percent} % is ${Number((percent * 10).toFixed(3))} g of food-grade sodium hydroxide to the litre: ${lyeMass(book, bath)} for ${bath.litres} l, weighed, into the cold water before it is heated.`,
  );
}

/** A change of water that cannot be done in the minutes planned is said where it will be missed. */
function changeNotes(site: Site, kettle: Kettle, fillings: readonly Filling[]): string[] {
  if (!fillings.some(({ kind }) => kind === "clean")) return [];
  const heatUp = heatUpBeyondCleaning(kettle, site);
  const planned = `A change of water is planned to take ${kettle.cleaningMinutes} min: emptying, rinsing, filling and bringing to the boil again.`;
  return heatUp === null
    ? [planned]
    : [
        `${planned} THAT IS TOO SHORT: from cold to the boil alone it takes ${heatUp} min (${kettle.heatUpMinutes === undefined ? "computed" : "as measured"}). Dip only when it boils; the planner must set cleaningMinutes of ${kettle.id} to ${heatUp} or more.`,
      ];
}

function kettleSheet(book: Book, site: Site, kettle: Kettle): Sheet | null {
  const unit = `${site.id}/${kettle.id}`;
  const tasks = book.tasks((task) => task.unit === unit);
  const boils = tasks.filter(({ does }) => does === "boil");
  if (tasks.length === 0) return null;
  const program = book.timetable.kettleProgram.find((entry) => entry.kettle === unit);
  const loads = boils.flatMap((task) => book.load(task.load) ?? []);
  const fillings = book.fillings(unit);
  const baths = fillings.flatMap(({ bath }) => bath ?? []);
  const hasLye = fillings.some(({ before, bath }) => isLye(before) || isLye(bath));
  const cautions: Caution[] = ["boiling-water", ...(hasLye ? (["lye"] as const) : [])];
  const isCleaned = tasks.some(({ does }) => does === "clean");
  if (isCleaned) cautions.push("allergen-order");
  const steamW = kettle.simmerHeatW ?? kettle.netHeatW;
  const rates = loads.flatMap((load) => {
    const step = book.boilStep(load);
    const cycle = step ? boilCycleSeconds(kettle, step, book.product(load), book.doughOf(load)) : null;
    const perDip = piecesPerDip(kettle, book.product(load));
    return cycle !== null && perDip !== null ? [sustainedPiecesPerHour(perDip, cycle)] : [];
  });
  const boilRow = (task: Task): Row => {
    const load = book.load(task.load);
    const bath = book.bath(task);
    if (!load || !bath) return { done: false, start: task.start, end: task.end, what: task.does };
    const step = book.boilStep(load)!;
    const bake = book.taskOfLoad(load.id, "bake");
    return {
      done: false,
      start: task.start,
      end: task.end,
      what: book.what(load),
      bath: bathText(bath),
      load: load.id,
      dips: dipText(task),
      each: `${step.sides} x ${step.secondsPerSide} s`,
      every: (task.dips ?? []).slice(0, 40).map(({ start }) => start),
      oven: bake ? bake.start : null,
    };
  };
  // A filling comes before the boil that it is for.
  const rows = [...fillings.map((filling) => fillRow(book, filling)), ...boils.map(boilRow)];
  rows.sort((a, b) => book.minute(a.start as string) - book.minute(b.start as string));
  return sheetOf(site, {
    kind: "kettle",
    name: kettle.id,
    title: `Kettle: ${kettle.name}`,
    subtitle: subtitleOf(kettle, fillings),
    from: program?.on[0]?.from ?? tasks[0]!.start,
    facts: [
      ...(program?.on ?? []).flatMap((span) => [
        {
          label: "Light",
          value: span.from,
          as: "clock" as const,
          note: kettle.heatUpMinutes === undefined ? "computed" : "as measured",
        },
        { label: "Boils", value: span.boilsFrom, as: "clock" as const },
        { label: "Off", value: span.to, as: "clock" as const },
      ]),
      {
        label: "Boils at",
        value: Math.round(boilingTempC(site.altitudeM ?? 0) * 10) / 10,
        as: "temp",
        note: `${site.altitudeM ?? 0} m above the sea`,
      },
      {
        label: "Top up, an hour",
        value: Math.round(evaporationKgPerHour(steamW) * 10) / 10,
        as: "volume",
        note: kettle.simmerHeatW === undefined ? "at most, full heat" : "at the simmer",
      },
      ...(rates.length > 0
        ? [
            {
              label: "Pieces an hour",
              value: Math.floor(Math.min(...rates)),
              as: "count" as const,
              note: kettle.recoverySeconds === undefined ? "computed recovery" : "measured recovery",
            },
          ]
        : []),
    ],
    tables: [
      {
        id: "boils",
        columns: [
          { key: "done", title: "", as: "tick" },
          { key: "start", title: "From", as: "clock" },
          { key: "end", title: "To", as: "clock" },
          { key: "what", title: "What", as: "strong" },
          { key: "bath", title: "In", as: "strong" },
          { key: "dips", title: "Dips", as: "text" },
          { key: "each", title: "Boil", as: "text" },
          { key: "every", title: "Each dip in at", as: "seconds-clock" },
          { key: "oven", title: "Oven", as: "clock" },
        ],
        rows,
      },
    ],
    allergens: book.allergensOfLoads(loads),
    cautions,
    notes: [...(isCleaned ? [NOBODY_CLEANS] : []), ...changeNotes(site, kettle, fillings), ...lyeNotes(book, baths)],
  });
}

export function kettleSheets(book: Book): Sheet[] {
  return book.day.network.sites.flatMap((site) =>
    site.kettles.flatMap((kettle) => kettleSheet(book, site, kettle) ?? []),
  );
}
