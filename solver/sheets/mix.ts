import type { Batch, Dough, Ingredient, Load, Mixer, Site, Task } from "../../schemas/index.js";
import type { Caution } from "../trade/cautions.js";
import { scaleFormula } from "../trade/dough.js";
import { ingredientTempC, type LiquidPlan, liquidPlan } from "../trade/dough-liquid.js";
import { liftingIndex, weightLimitKg } from "../trade/lifting.js";
import { materialOf } from "../trade/thermal.js";
import { type TubLimit, tubLimit } from "../trade/tubs.js";
import { bakersPercents } from "../trade/yield.js";
import type { Book } from "./book.js";
import { sheetOf } from "./make.js";
import type { Fact, Row, Sheet, Table } from "./model.js";

/** Grams that a bench scale shows: whole ones. */
function weighed(massG: number): number {
  return Math.round(massG);
}

function weighTable(book: Book, batch: Batch, site: Site, liquid: LiquidPlan | null): Table {
  const dough = book.doughs.get(batch.dough)!;
  const lines = scaleFormula(dough, batch.massG);
  const flourG = lines.reduce((sum, line, i) => sum + (dough.formula[i]!.flour ? line.massG : 0), 0);
  const percents = bakersPercents(
    flourG,
    lines.map((line) => line.massG),
  );
  const liquidG = lines.reduce(
    (sum, line, i) =>
      sum + (line.ingredient === liquid?.ingredient && dough.formula[i]!.inBowl !== false ? line.massG : 0),
    0,
  );
  const rows: Row[] = lines.flatMap((line, i): Row[] => {
    const ingredient = book.ingredients.get(line.ingredient);
    const name = ingredient?.name ?? line.ingredient;
    const row = (what: string, massG: number, tempC: number | null): Row => ({
      done: false,
      ingredient: what,
      massG: weighed(massG),
      tempC,
      percent: Math.round(percents[i]! * 100) / 100,
    });
    if (dough.formula[i]!.inBowl === false) return [row(`${name}, NOT in the bowl`, line.massG, null)];
    if (liquid === null || line.ingredient !== liquid.ingredient) {
      const tempC = ingredient ? ingredientTempC(ingredient, site) : site.roomTempC;
      return [row(name, line.massG, tempC === site.roomTempC ? null : tempC)];
    }
    const share = liquidG === 0 ? 0 : line.massG / liquidG;
    if (liquid.iceG === 0) return [row(name, liquid.waterG * share, liquid.wantedC)];
    const ice = row(`Ice (of the ${name.toLowerCase()})`, liquid.iceG * share, 0);
    return liquid.waterG < 1 ? [ice] : [row(name, liquid.waterG * share, liquid.tapTempC), ice];
  });
  return {
    id: "weigh",
    title: "Weigh",
    columns: [
      { key: "done", title: "", as: "tick" },
      { key: "ingredient", title: "Ingredient", as: "strong" },
      { key: "massG", title: "Weigh", as: "mass" },
      { key: "tempC", title: "At", as: "temp" },
      { key: "percent", title: "% of flour", as: "percent" },
    ],
    rows,
  };
}

function stageTable(book: Book, batch: Batch, task: Task, site: Site): Table[] {
  const dough = book.doughs.get(batch.dough)!;
  const stages = dough.mixStages;
  if (!stages) return [];
  const total = stages.reduce((sum, stage) => sum + stage.minutes, 0);
  let at = Math.max(0, book.minute(task.end) - book.minute(task.start) - total) / 2;
  const rows = stages.map((stage): Row => {
    const start = book.later(task.start, at, site);
    at += stage.minutes;
    return { start, stage: stage.does, minutes: stage.minutes, note: stage.note ?? "" };
  });
  return [
    {
      id: "bowl",
      title: "In the bowl",
      columns: [
        { key: "start", title: "From", as: "clock" },
        { key: "stage", title: "Do", as: "strong" },
        { key: "minutes", title: "For", as: "minutes" },
        { key: "note", title: "", as: "text" },
      ],
      rows,
    },
  ];
}

/** Straight to places, or what is done until when. */
function nextText(book: Book, next: Task, site: Site): string {
  const places = book.places(next);
  if (places !== "") return places;
  return `${next.does} ${next.unit === undefined ? "" : `at ${book.unitName(next.unit)} `}until ${book.clock(next.end, site)}`;
}

/** Share of a dough that is in the bowl when it is divided: butter to fold in comes to it later. */
function bowlShare({ formula }: Dough): number {
  const sum = (lines: Dough["formula"]): number => lines.reduce((total, { bakersPercent }) => total + bakersPercent, 0);
  return sum(formula.filter(({ inBowl }) => inBowl !== false)) / sum(formula);
}

function shareRow(book: Book, load: Load, site: Site): Row {
  const next = book.tasksOfLoad(load.id)[0];
  const equal = load.tubs.length > 0 ? load.tubs.map((tub) => tub.doughG) : [];
  const inTubs = equal.length > 0;
  return {
    load: load.id,
    what: book.what(load),
    doughG: load.doughG,
    bowlG: weighed(load.doughG * bowlShare(book.doughOf(load))),
    tubs: inTubs ? equal.length : null,
    tubG: inTubs ? Math.max(...equal) : null,
    goes: next ? nextText(book, next, site) : "",
  };
}

function shareTable(book: Book, batch: Batch, site: Site): Table {
  const isAllInBowl = bowlShare(book.doughs.get(batch.dough)!) === 1;
  return {
    id: "shares",
    title: "Divide for",
    columns: [
      { key: "what", title: "For", as: "strong" },
      { key: "load", title: "Load", as: "text" },
      ...(isAllInBowl ? [] : [{ key: "bowlG", title: "From the bowl", as: "mass" as const }]),
      { key: "doughG", title: isAllInBowl ? "Dough" : "With the rest", as: "mass" },
      { key: "tubs", title: "Tubs", as: "count" },
      { key: "tubG", title: "Each", as: "mass" },
      { key: "goes", title: "To", as: "text" },
    ],
    rows: book.loadsOf(batch.id).map((load) => shareRow(book, load, site)),
  };
}

function liquidNotes(liquid: LiquidPlan | null, ingredients: ReadonlyMap<string, Ingredient>): string[] {
  if (!liquid) return [];
  const names = liquid.usualCp.map((id) => ingredients.get(id)?.name ?? id);
  return [
    ...trouble(liquid, ingredients),
    ...(names.length > 0 ? [`Heat balance with the usual specific heat of its kind for: ${names.join(", ")}.`] : []),
  ];
}

/** A liquid that cannot be as warm or as cold as it would have to be. */
function trouble(liquid: LiquidPlan, ingredients: ReadonlyMap<string, Ingredient>): string[] {
  const name = ingredients.get(liquid.ingredient)?.name ?? liquid.ingredient;
  switch (liquid.state) {
    case "too-hot":
      return [`${name} would have to be hotter than yeast bears: warm the flour or the room, or mix longer.`];
    case "all-ice":
      return [
        `${name} would have to be colder than water can be: weigh the ice shown, chill the flour, and expect a warmer dough.`,
      ];
    case "too-cold":
      return [`${name} would have to be below freezing: use it as cold as it comes, chill the flour, mix less.`];
    default:
      return [];
  }
}

const FRICTION: Readonly<Record<LiquidPlan["frictionFrom"], string>> = {
  rise: "measured rise",
  factor: "measured friction",
  minutes: "estimated friction",
};

function waterFact(book: Book, liquid: LiquidPlan | null): Fact[] {
  if (!liquid) return [];
  const name = book.ingredients.get(liquid.ingredient)?.name ?? liquid.ingredient;
  const how = `${liquid.method}, ${FRICTION[liquid.frictionFrom]}`;
  const value = Math.round(liquid.wantedC * 10) / 10;
  return [
    { label: liquid.state === "iced" ? `${name} with ice, as if at` : `${name} at`, value, as: "temp", note: how },
  ];
}

const MATERIAL: Readonly<Record<ReturnType<typeof materialOf>["from"], string>> = {
  measured: "measured values",
  composition: "its composition",
  "wheat dough": "wheat dough in general",
};

/** Why tubs are no fuller, where something else than the tub bounds them. */
function tubNote(book: Book, batch: Batch, site: Site): string[] {
  const dough = book.doughs.get(batch.dough)!;
  const tubType = book.tubTypes.get(dough.tubType ?? "");
  if (!tubType || !book.loadsOf(batch.id).some((load) => load.tubs.length > 0)) return [];
  const limits = site.fridges.map((fridge) => tubLimit(tubType, dough, fridge));
  const best = limits.reduce((a, b) => (b.massG > a.massG ? b : a), { massG: 0, by: "tub" as const } as TubLimit);
  if (best.by === "tub") return [];
  const why =
    best.by === "chilling"
      ? `the middle is at ${dough.chill!.toTempC} C in ${dough.chill!.withinMinutes} min`
      : `the middle bears ${dough.ferment!.forMinutes} min in the cold`;
  return [
    `At most ${(best.massG / 1000).toFixed(1)} kg a tub, so that ${why} (computed from ${MATERIAL[materialOf(dough).from]}).`,
  ];
}

/** Tubs heavier than the recommended weight limit: flagged, not refused. */
function liftingNote(book: Book, batch: Batch): string[] {
  const dough = book.doughs.get(batch.dough)!;
  const tubType = book.tubTypes.get(dough.tubType ?? "");
  const tubs = book.loadsOf(batch.id).flatMap((load) => load.tubs);
  if (!tubType || tubs.length === 0) return [];
  const heaviestKg = (Math.max(...tubs.map((tub) => tub.doughG)) + tubType.massG) / 1000;
  const limit = weightLimitKg(book.day.settings.lifting ?? {});
  if (liftingIndex(heaviestKg, limit) <= 1) return [];
  return [
    `A full tub weighs ${heaviestKg.toFixed(1)} kg, above the recommended weight limit of ${limit.toFixed(1)} kg for this lift: two people, or a trolley.`,
  ];
}

function mixSheet(book: Book, batch: Batch, task: Task): Sheet | null {
  const site = book.sites.get(batch.site);
  const dough = book.doughs.get(batch.dough);
  if (!site || !dough) return null;
  const mixerId = task.unit?.split("/")[1];
  const mixer: Pick<Mixer, "frictionFactorC" | "riseC"> = site.mixers.find(({ id }) => id === mixerId) ?? {};
  const liquid = liquidPlan(dough, book.ingredients, batch.massG, site, mixer);
  const tubs = book.loadsOf(batch.id).reduce((sum, load) => sum + load.tubs.length, 0);
  const cautions: Caution[] = ["mixer", "raw-flour", "flour-dust"];
  if (tubs > 0) cautions.push("lifting");
  return sheetOf(site, {
    kind: "mix",
    name: batch.id,
    title: `Mix: ${dough.name}`,
    subtitle: `Batch ${batch.id}, ${book.unitName(task.unit ?? "")}`,
    from: task.start,
    facts: [
      { label: "In the mixer", value: [task.start, task.end], as: "span" },
      { label: "Dough", value: batch.massG, as: "mass" },
      ...(bowlShare(dough) === 1
        ? []
        : [{ label: "In the bowl", value: weighed(batch.massG * bowlShare(dough)), as: "mass" as const }]),
      ...waterFact(book, liquid),
      { label: "Dough at", value: dough.doughTempC, as: "temp", note: "measured: ........" },
    ],
    tables: [
      weighTable(book, batch, site, liquid),
      ...stageTable(book, batch, task, site),
      shareTable(book, batch, site),
    ],
    allergens: book.allergens(book.doughIngredients(dough)),
    cautions,
    notes: [
      ...liquidNotes(liquid, book.ingredients),
      ...tubNote(book, batch, site),
      ...liftingNote(book, batch),
      ...(batch.spareG > 0
        ? [`${Math.round(batch.spareG)} g more than the loads take, to reach the mixer's least batch.`]
        : []),
    ],
  });
}

/** One sheet a batch, in order of time. */
export function mixSheets(book: Book): Sheet[] {
  return book
    .tasks((task) => task.does === "mix")
    .flatMap((task) => {
      const batch = book.batches.get(task.batch ?? "");
      const sheet = batch ? mixSheet(book, batch, task) : null;
      return sheet ? [sheet] : [];
    });
}
