import type { Kettle, Site, Task } from "../../schemas/index.js";
import type { Caution } from "../trade/cautions.js";
import {
  boilCycleSeconds,
  boilingTempC,
  evaporationKgPerHour,
  piecesPerDip,
  sustainedPiecesPerHour,
} from "../trade/kettle.js";
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

function kettleSheet(book: Book, site: Site, kettle: Kettle): Sheet | null {
  const unit = `${site.id}/${kettle.id}`;
  const tasks = book.tasks((task) => task.unit === unit);
  const boils = tasks.filter(({ does }) => does === "boil");
  if (boils.length === 0) return null;
  const program = book.timetable.kettleProgram.find((entry) => entry.kettle === unit);
  const loads = boils.flatMap((task) => book.load(task.load) ?? []);
  const lye = loads.flatMap((load) => book.boilStep(load)?.lyePercent ?? []);
  const cautions: Caution[] = ["boiling-water", ...(lye.length > 0 ? (["lye"] as const) : [])];
  if (tasks.some(({ does }) => does === "clean")) cautions.push("allergen-order");
  const steamW = kettle.simmerHeatW ?? kettle.netHeatW;
  const rates = loads.flatMap((load) => {
    const step = book.boilStep(load);
    const cycle = step ? boilCycleSeconds(kettle, step, book.product(load), book.doughOf(load)) : null;
    const perDip = piecesPerDip(kettle, book.product(load));
    return cycle !== null && perDip !== null ? [sustainedPiecesPerHour(perDip, cycle)] : [];
  });
  const rows = tasks.map((task): Row => {
    const load = book.load(task.load);
    if (!load) return { start: task.start, end: task.end, what: "CLEAN, fresh water", dips: "" };
    const step = book.boilStep(load);
    const bake = book.taskOfLoad(load.id, "bake");
    return {
      done: false,
      start: task.start,
      end: task.end,
      what: book.what(load),
      load: load.id,
      dips: dipText(task),
      each: step ? `${step.sides} x ${step.secondsPerSide} s` : "",
      every: (task.dips ?? []).slice(0, 40).map(({ start }) => start),
      oven: bake ? bake.start : null,
    };
  });
  return sheetOf(site, {
    kind: "kettle",
    name: kettle.id,
    title: `Kettle: ${kettle.name}`,
    subtitle: `${kettle.litres} l${lye.length > 0 ? `, lye bath ${Math.max(...lye)} %` : ""}`,
    from: program?.on[0]?.from ?? boils[0]!.start,
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
  });
}

export function kettleSheets(book: Book): Sheet[] {
  return book.day.network.sites.flatMap((site) =>
    site.kettles.flatMap((kettle) => kettleSheet(book, site, kettle) ?? []),
  );
}
