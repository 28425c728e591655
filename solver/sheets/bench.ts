import type { Bench, Load, Site, Task } from "../../schemas/index.js";
import { NOBODY_CLEANS } from "../cleanings.js";
import { piecesPerPan } from "../geometry/index.js";
import type { Caution } from "../trade/cautions.js";
import type { Book } from "./book.js";
import { sheetOf } from "./make.js";
import type { Row, Sheet } from "./model.js";

const DOES: Readonly<Record<string, string>> = { shape: "shape", top: "top", pack: "pack", clean: "CLEAN" };

/** Where a load's dough comes from: tubs on shelves, or straight from the bowl. */
function comesFrom(book: Book, load: Load): string {
  const tasks = book.tasksOfLoad(load.id);
  const shape = tasks.findIndex(({ does }) => does === "shape");
  const retard = tasks
    .slice(0, shape)
    .reverse()
    .find(({ does }) => does === "retard");
  if (retard) return book.places(retard);
  return load.batch;
}

function goesTo(book: Book, here: Site, task: Task): string {
  const tasks = book.tasksOfLoad(task.load ?? "");
  const next = tasks[tasks.findIndex(({ id }) => id === task.id) + 1];
  if (!next) return "";
  const site = book.sites.get(next.site) ?? here;
  const places = book.places(next);
  if (places !== "" && next.start === task.end) return places;
  const where = next.unit !== undefined ? book.unitName(next.unit) : places;
  return `${next.does} ${book.clock(next.start, site)}${where === "" ? "" : ` ${where}`}`;
}

function row(book: Book, site: Site, task: Task): Row {
  const load = book.load(task.load);
  const does = DOES[task.does] ?? task.does;
  if (!load)
    return {
      done: false,
      start: task.start,
      end: task.end,
      what: does,
      load: "",
      how: book.whyClean(task),
      from: "",
      goes: "",
    };
  const product = book.product(load);
  const panType = book.panTypes.get(product.panType);
  const perPan = panType ? piecesPerPan(product, panType).count : null;
  const pans = `${load.pans} ${load.pans === 1 ? "pan" : "pans"}`;
  const last = load.pieces - (load.pans - 1) * (perPan ?? 0);
  const ofEach = perPan === null ? "" : ` of ${perPan}${last > 0 && last < perPan ? `, last ${last}` : ""}`;
  const toppings = (product.toppings ?? []).map(
    (top) => `${top.gPerPiece} g ${book.ingredients.get(top.ingredient)?.name ?? top.ingredient}`,
  );
  const how = {
    shape: `shape ${product.pieceG} g, ${pans}${load.pans === 1 ? "" : ofEach}`,
    top: `top with ${toppings.join(", ")} each, ${pans}`,
  }[task.does as string];
  return {
    done: false,
    start: task.start,
    end: task.end,
    what: book.what(load),
    load: load.id,
    how: `${book.meetsLye(task) ? "WET WITH LYE: " : ""}${how ?? `${does}, ${pans}`}`,
    from: task.does === "shape" ? comesFrom(book, load) : "",
    goes: goesTo(book, site, task),
    heads: task.crew?.heads ?? null,
  };
}

function benchSheet(book: Book, site: Site, bench: Bench): Sheet | null {
  const unit = `${site.id}/${bench.id}`;
  const tasks = book.tasks((task) => task.unit === unit);
  if (tasks.length === 0) return null;
  const loads = tasks.flatMap((task) => book.load(task.load) ?? []);
  const cautions: Caution[] = ["raw-flour"];
  const isCleaned = tasks.some(({ does }) => does === "clean");
  if (isCleaned) cautions.push("allergen-order");
  if (loads.some((load) => load.tubs.length > 0)) cautions.push("lifting");
  if (tasks.some((task) => book.meetsLye(task))) cautions.unshift("lye");
  return sheetOf(site, {
    kind: "bench",
    name: bench.id,
    title: `Bench: ${bench.name}`,
    subtitle: `${bench.places} places`,
    from: tasks[0]!.start,
    tables: [
      {
        id: "work",
        columns: [
          { key: "done", title: "", as: "tick" },
          { key: "start", title: "From", as: "clock" },
          { key: "end", title: "To", as: "clock" },
          { key: "what", title: "What", as: "strong" },
          { key: "how", title: "How", as: "text" },
          { key: "from", title: "Dough from", as: "text" },
          { key: "goes", title: "Goes to", as: "text" },
          ...(tasks.some(({ crew }) => (crew?.heads ?? 1) > 1)
            ? [{ key: "heads", title: "Hands", as: "count" as const }]
            : []),
        ],
        rows: tasks.map((task) => row(book, site, task)),
      },
    ],
    allergens: book.allergensOfLoads(loads),
    cautions,
    notes: isCleaned ? [NOBODY_CLEANS] : [],
  });
}

export function benchSheets(book: Book): Sheet[] {
  return book.day.network.sites.flatMap((site) => site.benches.flatMap((bench) => benchSheet(book, site, bench) ?? []));
}
