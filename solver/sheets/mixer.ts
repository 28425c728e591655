import type { Mixer, Site, Task } from "../../schemas/index.js";
import { NOBODY_CLEANS } from "../cleanings.js";
import type { Caution } from "../trade/cautions.js";
import type { Book } from "./book.js";
import { sheetOf } from "./make.js";
import type { Row, Sheet } from "./model.js";
import { stintsOf } from "./people.js";

/** Who mixes what at a site, by task: "Bakers 2". */
function mixersByTask(book: Book, site: Site): ReadonlyMap<string, string> {
  const who = new Map<string, string>();
  for (const group of site.crew)
    for (const { task, people } of stintsOf(book, site, group))
      if (task.does === "mix")
        who.set(task.id, people.length > 0 ? `${group.name} ${people.join(", ")}` : `${group.name}: anybody`);
  return who;
}

function mixRow(book: Book, task: Task, who: ReadonlyMap<string, string>): Row {
  const span = { done: false, start: task.start, end: task.end };
  if (task.does === "clean") return { ...span, what: "CLEAN", massG: null, who: book.whyClean(task) };
  const batch = book.batches.get(task.batch ?? "");
  const dough = book.doughs.get(batch?.dough ?? "");
  return {
    ...span,
    what: dough?.name ?? task.does,
    massG: batch?.massG ?? null,
    doughTempC: dough?.doughTempC ?? null,
    batch: batch?.id ?? "",
    who: who.get(task.id) ?? "",
  };
}

function mixerSheet(book: Book, site: Site, mixer: Mixer, who: ReadonlyMap<string, string>): Sheet | null {
  const unit = `${site.id}/${mixer.id}`;
  const tasks = book.tasks((task) => task.unit === unit);
  if (tasks.length === 0) return null;
  const batches = tasks.flatMap((task) => book.batches.get(task.batch ?? "") ?? []);
  const cautions: Caution[] = ["mixer", "raw-flour", "flour-dust"];
  const isCleaned = tasks.some(({ does }) => does === "clean");
  if (isCleaned) cautions.push("allergen-order");
  const ingredients = batches.flatMap(({ dough }) => book.doughs.get(dough)?.formula ?? []);
  return sheetOf(site, {
    kind: "mixer",
    name: mixer.id,
    title: `Mixer: ${mixer.name}`,
    subtitle: "Each batch has a mix sheet of its own: what to weigh, and the water",
    from: tasks[0]!.start,
    facts: [
      { label: "Batches", value: batches.length, as: "count" },
      { label: "Dough in all", value: batches.reduce((sum, { massG }) => sum + massG, 0), as: "mass" },
    ],
    tables: [
      {
        id: "mixes",
        columns: [
          { key: "done", title: "", as: "tick" },
          { key: "start", title: "From", as: "clock" },
          { key: "end", title: "To", as: "clock" },
          { key: "what", title: "What", as: "strong" },
          { key: "massG", title: "Dough", as: "mass" },
          { key: "doughTempC", title: "Dough at", as: "temp" },
          { key: "batch", title: "Batch", as: "text" },
          { key: "who", title: "Who, or why it is cleaned", as: "text" },
        ],
        rows: tasks.map((task) => mixRow(book, task, who)),
      },
    ],
    allergens: book.allergens(ingredients.map(({ ingredient }) => ingredient)),
    cautions,
    notes: isCleaned ? [NOBODY_CLEANS] : [],
  });
}

/** One sheet a mixer: its batches and cleanings in order of time. */
export function mixerSheets(book: Book): Sheet[] {
  return book.day.network.sites.flatMap((site) => {
    const who = mixersByTask(book, site);
    return site.mixers.flatMap((mixer) => mixerSheet(book, site, mixer, who) ?? []);
  });
}
