import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { Book } from "../../solver/sheets/book.js";
import { undeclaredNotes } from "../../solver/sheets/stores.js";
import { CAUTIONS, type Caution, COMES_FIRST, ONLY_COMPUTED } from "../../solver/trade/cautions.js";
import { limitOf } from "../../solver/trade/holding.js";
import { heatUpBeyondCleaning } from "../../solver/trade/kettle.js";
import { liftingIndex, weightLimitKg } from "../../solver/trade/lifting.js";

/** Tubs above the recommended weight limit, in words; empty when there are none. */
function liftingText(book: Book): string {
  const limitKg = weightLimitKg(book.day.settings.lifting ?? {});
  const masses = book.timetable.loads.flatMap((load) => {
    const tubType = book.tubTypes.get(book.doughOf(load).tubType ?? "");
    return tubType ? load.tubs.map((tub) => (tub.doughG + tubType.massG) / 1000) : [];
  });
  const heavy = masses.filter((massKg) => liftingIndex(massKg, limitKg) > 1);
  if (heavy.length === 0) return "";
  return `${heavy.length} of ${masses.length} tubs are above the recommended weight limit of ${limitKg.toFixed(1)} kg for the lift entered, the heaviest ${Math.max(...heavy).toFixed(1)} kg.`;
}

/** Kettles that cannot boil fresh water in the minutes that a change of it is planned to take, in words. */
function kettleLines({ day, timetable }: Book): string[] {
  const cleaned = new Set(timetable.tasks.flatMap(({ does, unit }) => (does === "clean" ? [unit] : [])));
  return day.network.sites.flatMap((site) =>
    site.kettles.flatMap((kettle) => {
      const heatUp = cleaned.has(`${site.id}/${kettle.id}`) ? heatUpBeyondCleaning(kettle, site) : null;
      if (heatUp === null) return [];
      return [
        `${kettle.name} at ${site.name}: a change of water is planned to take ${kettle.cleaningMinutes} min, from cold to the boil alone it takes ${heatUp}: boils after a change will be late. Set its cleaningMinutes to ${heatUp} or more.`,
      ];
    }),
  );
}

/** The usual cautions that apply to what is on the timetable; local rules and licensed practice come first. */
export function cautionsText(day: DayDocuments, timetable: Timetable): string {
  const book = new Book(day, timetable);
  const kinds = new Set(timetable.tasks.map((task) => task.does));
  const doughs = [...new Set(timetable.loads.map((load) => book.doughOf(load)))];
  const limits = new Set(doughs.flatMap((dough) => limitOf(day.settings, dough).labels));
  const hasLye = timetable.tasks.some((task) => book.meetsLye(task));
  const applies: readonly (readonly [Caution, boolean])[] = [
    ["boiling-water", kinds.has("boil")],
    ["lye", hasLye],
    ["hot-decks", kinds.has("bake")],
    ["mixer", kinds.has("mix")],
    ["lifting", timetable.loads.some((load) => load.tubs.length > 0)],
    ["raw-flour", kinds.has("shape")],
    ["flour-dust", kinds.has("mix")],
    ["cold-chain", kinds.has("retard")],
    ["time-limit", limits.size > 0],
    ["allergen-order", kinds.has("clean")],
  ];
  const allergens = book.allergensOfLoads(timetable.loads);
  const lines = [
    ...applies.flatMap(([caution, does]) => (does ? [CAUTIONS[caution]] : [])),
    liftingText(book),
    ...kettleLines(book),
    allergens.length > 0 ? `Allergens in use today: ${allergens.join(", ")}.` : "",
    ...undeclaredNotes(book),
    ...[...limits].map((label) => `Limit checked against the timetable: ${label}.`),
    `${COMES_FIRST} ${ONLY_COMPUTED}${day.settings.jurisdiction ? ` Limits entered for: ${day.settings.jurisdiction}.` : ""}`,
  ];
  return ["Take care", ...lines.filter((line) => line !== "").map((line) => `  - ${line}`)].join("\n");
}
