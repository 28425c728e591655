import type { Ingredient, Site } from "../../schemas/index.js";
import { isLye } from "../baths.js";
import { ALLERGEN_LISTS, undeclared } from "../trade/allergen-lists.js";
import { scaleFormula } from "../trade/dough.js";
import type { Book } from "./book.js";
import { sheetOf } from "./make.js";
import type { Row, Sheet } from "./model.js";

const STORES = ["frozen", "chilled", "dry"] as const;

/** Lye is no ingredient of the catalogue: how much there must be follows from the kettles' litres, pack and price are not known. */
const LYE: Ingredient = { id: "~lye", name: "Lye (food-grade sodium hydroxide)" };
const LYE_NOTE =
  "Lye is reckoned from the kettles' litres and fillings; it is not in the catalogue, so its pack and price are not known and the sum is without it. Keep it closed, marked and apart from food.";

interface Use {
  readonly massG: number;
  readonly at: string;
}

interface Need {
  readonly ingredient: Ingredient;
  massG: number;
  /** Instant of the first use. */
  first: string;
  readonly uses: Use[];
}

/** What a site's mixes, toppings and lye baths take, by ingredient; water from the tap is left out. */
function needsOf(book: Book, site: Site): Map<string, Need> {
  const needs = new Map<string, Need>();
  const add = (id: string, massG: number, at: string): void => {
    const ingredient = book.ingredients.get(id);
    if (!ingredient || ingredient.liquid === "water") return;
    const need = needs.get(id);
    if (!need) needs.set(id, { ingredient, massG, first: at, uses: [{ massG, at }] });
    else {
      need.massG += massG;
      need.uses.push({ massG, at });
      if (book.minute(at) < book.minute(need.first)) need.first = at;
    }
  };
  for (const task of book.tasks(({ does, site: at }) => does === "mix" && at === site.id)) {
    const batch = book.batches.get(task.batch ?? "");
    const dough = book.doughs.get(batch?.dough ?? "");
    if (!batch || !dough) continue;
    for (const { ingredient, massG } of scaleFormula(dough, batch.massG)) add(ingredient, massG, task.start);
  }
  for (const load of book.timetable.loads) {
    const { toppings } = book.product(load);
    const task = book.taskOfLoad(load.id, "top") ?? book.taskOfLoad(load.id, "shape");
    if (!toppings || task?.site !== site.id) continue;
    for (const { ingredient, gPerPiece } of toppings) add(ingredient, gPerPiece * load.pieces, task.start);
  }
  const lye = lyeOf(book, site);
  if (lye) needs.set(LYE.id, lye);
  return needs;
}

/** The lye of all fillings of a site's kettles. */
function lyeOf(book: Book, site: Site): Need | undefined {
  const fillings = site.kettles
    .flatMap((kettle) => book.fillings(`${site.id}/${kettle.id}`))
    .filter(({ bath }) => isLye(bath))
    .sort((a, b) => book.minute(a.start) - book.minute(b.start));
  if (fillings.length === 0) return undefined;
  return {
    ingredient: LYE,
    massG: fillings.reduce((sum, { bath }) => sum + bath!.lyeG, 0),
    first: fillings[0]!.start,
    uses: fillings.map(({ bath, start }) => ({ massG: bath!.lyeG, at: start })),
  };
}

/** Entries of the settings' lists for which the catalogue has no allergen. */
export function undeclaredNotes(book: Book): string[] {
  const wanted = book.day.settings.allergenLists ?? [];
  return ALLERGEN_LISTS.filter((list) => wanted.includes(list.id)).flatMap((list) => {
    const missing = undeclared(book.day.catalogue, list);
    if (missing.length === 0) return [];
    return [
      `${list.name}: nothing is declared for ${missing.map(({ name }) => name).join(", ")}. Not declared does not mean absent.`,
    ];
  });
}

function isOfLye({ ingredient }: Need): boolean {
  return ingredient === LYE;
}

/** What is fetched at once of cold goods is used within so many minutes: nothing waits for its batch out of the cold. */
const AT_ONCE_MINUTES = 60;

/** How much of an ingredient is fetched for when; of dry goods all at once. */
function fetchesOf(book: Book, { massG, first, uses }: Need, isCold: boolean): Use[] {
  if (!isCold) return [{ massG, at: first }];
  const fetches: { massG: number; at: string }[] = [];
  for (const use of [...uses].sort((a, b) => book.minute(a.at) - book.minute(b.at))) {
    const last = fetches.at(-1);
    if (last && book.minute(use.at) - book.minute(last.at) <= AT_ONCE_MINUTES) last.massG += use.massG;
    else fetches.push({ ...use });
  }
  return fetches;
}

/** What to fetch from which store, and when frozen goods come out; one a site. */
function pullSheet(book: Book, site: Site, needs: readonly Need[]): Sheet {
  const tables = STORES.flatMap((store) => {
    const here = needs.filter(({ ingredient }) => (ingredient.storage ?? "dry") === store);
    if (here.length === 0) return [];
    const rows = here
      .flatMap((need) =>
        fetchesOf(book, need, store !== "dry").map((fetch) => ({ ...fetch, ingredient: need.ingredient })),
      )
      .map(({ ingredient, massG, at }): Row & { by: string } => ({
        done: false,
        ingredient: ingredient.name,
        massG: Math.ceil(massG),
        by: store === "frozen" ? book.later(at, -(ingredient.thawMinutes ?? 0), site) : at,
        allergens: book.allergens([ingredient.id]).join(", "),
      }))
      .sort((a, b) => book.minute(a.by) - book.minute(b.by));
    return [
      {
        id: store,
        title: store === "frozen" ? "From the freezer" : store === "chilled" ? "From the fridge" : "From the dry store",
        columns: [
          { key: "done", title: "", as: "tick" as const },
          { key: "ingredient", title: "Ingredient", as: "strong" as const },
          { key: "massG", title: "Take", as: "mass" as const },
          { key: "by", title: store === "frozen" ? "Out to thaw" : "By", as: "clock" as const },
          { key: "allergens", title: "Allergens", as: "text" as const },
        ],
        rows,
      },
    ];
  });
  return sheetOf(site, {
    kind: "pull",
    name: "",
    title: "Pull list",
    subtitle: needs.some(isOfLye) ? "All mixes, toppings and lye baths" : "All mixes and toppings",
    from: needs.reduce(
      (first, need) => (book.minute(need.first) < book.minute(first) ? need.first : first),
      needs[0]!.first,
    ),
    tables,
    allergens: book.allergens(needs.map(({ ingredient }) => ingredient.id)),
    cautions: ["raw-flour", "cold-chain", ...(needs.some(isOfLye) ? (["lye"] as const) : [])],
    notes: [...(needs.some(isOfLye) ? [LYE_NOTE] : []), ...undeclaredNotes(book)],
  });
}

function purchaseSheet(book: Book, site: Site, needs: readonly Need[]): Sheet {
  const rows = needs
    .map(({ ingredient, massG, first }): Row & { name: string } => {
      const packs = ingredient.packG === undefined ? null : Math.ceil(massG / ingredient.packG - 1e-9);
      const boughtG = packs === null ? Math.ceil(massG) : packs * ingredient.packG!;
      return {
        name: ingredient.name,
        massG: Math.ceil(massG),
        packG: ingredient.packG ?? null,
        packs,
        cost: ingredient.costPerKg === undefined ? null : (boughtG / 1000) * ingredient.costPerKg,
        by: first,
        inStock: null,
      };
    })
    .sort((a, b) => (a.name < b.name ? -1 : 1));
  const cost = rows.reduce((sum, row) => sum + ((row as { cost?: number | null }).cost ?? 0), 0);
  return sheetOf(site, {
    kind: "purchase",
    name: "",
    title: "Purchase list",
    subtitle: "What the day takes, in whole packs",
    from: book.timetable.window.from,
    facts: [{ label: "If all is bought", value: cost, as: "money" }],
    tables: [
      {
        id: "buy",
        columns: [
          { key: "name", title: "Ingredient", as: "strong" },
          { key: "massG", title: "Needed", as: "mass" },
          { key: "packG", title: "Pack", as: "mass" },
          { key: "packs", title: "Packs", as: "count" },
          { key: "cost", title: "Cost", as: "money" },
          { key: "by", title: "By", as: "clock" },
          { key: "inStock", title: "In stock", as: "blank" },
        ],
        rows,
      },
    ],
    allergens: book.allergens(needs.map(({ ingredient }) => ingredient.id)),
    notes: needs.some(isOfLye) ? [LYE_NOTE] : [],
  });
}

export function storeSheets(book: Book): Sheet[] {
  return book.day.network.sites.flatMap((site) => {
    const needs = [...needsOf(book, site).values()];
    return needs.length === 0 ? [] : [purchaseSheet(book, site, needs), pullSheet(book, site, needs)];
  });
}
