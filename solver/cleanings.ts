import type { DayDocuments, Task, Timetable } from "../schemas/index.js";
import { bathName } from "./baths.js";
import { parseInstant } from "./calendar.js";
import { allergensOfDough, allergensOfProduct, needsClean } from "./trade/dough.js";

/** What is on a unit that may have to be cleaned (D6): a dough in a mixer or a kettle, a product at a bench. */
interface Use {
  readonly name: string;
  /** Ids. */
  readonly allergens: ReadonlySet<string>;
  /** Of a kettle: what is boiled in. */
  readonly bath: string | undefined;
  readonly start: number;
  readonly end: number;
}

/** What a cleaning keeps apart. */
export interface Cleaning {
  readonly task: Task;
  readonly minutes: number;
  /** What was on the unit and leaves what the next may not have; the allergens by name, none when only the bath changes. */
  readonly after: readonly { readonly name: string; readonly allergens: readonly string[]; readonly bath?: string }[];
  /** What comes on it next; none when it is the last of the day. */
  readonly before: { readonly name: string; readonly bath?: string } | null;
}

/** Instants in seconds. */
function secondOf(instant: string): number {
  return parseInstant(instant) ?? 0;
}

function useOf({ catalogue }: DayDocuments, timetable: Timetable, task: Task): Use | undefined {
  const load = timetable.loads.find(({ id }) => id === task.load);
  const product = catalogue.products.find(({ id }) => id === load?.product);
  const batch = timetable.batches.find(({ id }) => id === task.batch);
  const dough = catalogue.doughs.find(({ id }) => id === (product?.dough ?? batch?.dough));
  if (!dough) return undefined;
  const span = { start: secondOf(task.start), end: secondOf(task.end) };
  if (!product) return { ...span, name: dough.name, allergens: allergensOfDough(catalogue, dough), bath: undefined };
  if (task.does !== "boil")
    return { ...span, name: product.name, allergens: allergensOfProduct(catalogue, product), bath: undefined };
  const step = product.routes
    .find(({ id }) => id === load?.route)
    ?.steps.find((candidate) => candidate.does === "boil");
  const bath = step?.does === "boil" ? bathName(step) : undefined;
  return { ...span, name: product.name, allergens: allergensOfDough(catalogue, dough), bath };
}

/** The cleanings of a unit, in order of time, each with what it keeps apart. The timetable must be of that day. */
export function cleaningsAt(day: DayDocuments, timetable: Timetable, unit: string): Cleaning[] {
  const own = timetable.tasks
    .filter((task) => task.unit === unit)
    .sort((a, b) => secondOf(a.start) - secondOf(b.start) || (a.id < b.id ? -1 : 1));
  const cleans = own.filter(({ does }) => does === "clean");
  if (cleans.length === 0) return [];
  const uses = own.flatMap((task) => (task.does === "clean" ? [] : (useOf(day, timetable, task) ?? [])));
  const names = new Map(day.catalogue.allergens.map(({ id, name }) => [id, name]));
  return cleans.map((task, i): Cleaning => {
    const cleaned = secondOf(task.end);
    const since = i === 0 ? Number.NEGATIVE_INFINITY : secondOf(cleans[i - 1]!.end);
    const last = uses.filter((use) => use.end > since && use.end <= cleaned);
    const next =
      uses.find(
        (use) =>
          use.start >= cleaned && last.some((one) => one.bath !== use.bath || needsClean(one.allergens, use.allergens)),
      ) ?? uses.find((use) => use.start >= cleaned);
    const after = new Map<string, Cleaning["after"][number]>();
    for (const one of last) {
      const lost = next ? [...one.allergens].filter((id) => !next.allergens.has(id)) : [];
      if (next && lost.length === 0 && one.bath === next.bath) continue;
      const { name, bath } = one;
      after.set(`${name} ${bath}`, {
        name,
        allergens: lost.map((id) => names.get(id) ?? id),
        ...(bath !== undefined && bath !== next?.bath ? { bath } : {}),
      });
    }
    const minutes = Math.round((cleaned - secondOf(task.start)) / 60);
    const before = next
      ? {
          name: next.name,
          ...(next.bath !== undefined && last.some(({ bath }) => bath !== next.bath) ? { bath: next.bath } : {}),
        }
      : null;
    return { task, minutes, after: [...after.values()], before };
  });
}

function listed(texts: readonly string[]): string {
  return texts.length < 2 ? (texts[0] ?? "") : `${texts.slice(0, -1).join(", ")} and ${texts.at(-1)}`;
}

/** D7: the plan has the minutes of a cleaning on the unit, and no hands. */
export const NOBODY_CLEANS =
  "Nobody of the crew is planned for the cleanings: whoever works here does them, in the minutes shown.";

/** Of so many products that leave the same all are named. */
const MOST_NAMED = 3;

/** "after Seeded loaf (Sesame), before Plain loaf"; of a kettle also "after Plain ring in plain water, before Twist in lye 3.5 %". */
export function cleaningWhy({ after, before }: Cleaning): string {
  const groups = new Map<string, string[]>();
  for (const { name, allergens, bath } of after) {
    const leaves = `${bath === undefined ? "" : ` in ${bath}`}${allergens.length > 0 ? ` (${allergens.join(", ")})` : ""}`;
    groups.set(leaves, [...(groups.get(leaves) ?? []), name]);
  }
  const last = [...groups].map(([leaves, names]) => {
    const shown = names.length > MOST_NAMED ? [...names.slice(0, 2), `${names.length - 2} more`] : names;
    return `${listed(shown)}${leaves}`;
  });
  const next = before
    ? `before ${before.name}${before.bath === undefined ? "" : ` in ${before.bath}`}`
    : "nothing follows";
  return last.length > 0 ? `after ${listed(last)}, ${next}` : next;
}
