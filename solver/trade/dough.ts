import type { Catalogue, Dough, Ingredient, Mixer, Product } from "../../schemas/index.js";

/** Dough for so many pieces, g: pieces x pieceG / (1 - dividerLoss). Source: baker's yield sums (Gisslen, Professional Baking). */
export function doughForPiecesG(product: Pick<Product, "pieceG" | "dividerLossPercent">, pieces: number): number {
  return (pieces * product.pieceG) / (1 - (product.dividerLossPercent ?? 0) / 100);
}

/** The most dough of a stiffness that a mixer takes, g; null when it is stiffer than every row of the mixer's table. */
export function mixerLimitG(mixer: Pick<Mixer, "limits">, absorptionPercent: number): number | null {
  let best: { fromAbsorptionPercent: number; maxDoughG: number } | null = null;
  for (const row of mixer.limits) {
    if (row.fromAbsorptionPercent > absorptionPercent) continue;
    if (!best || row.fromAbsorptionPercent > best.fromAbsorptionPercent) best = row;
  }
  return best ? best.maxDoughG : null;
}

/** The least batch of a dough in a mixer, g. */
export function leastBatchG(mixer: Pick<Mixer, "minDoughG">, dough: Pick<Dough, "minBatchG">): number {
  return Math.max(mixer.minDoughG, dough.minBatchG ?? 0);
}

/** Grams of each ingredient in doughG of a dough: baker's percent over the sum of all percents. */
export function scaleFormula(
  dough: Pick<Dough, "formula">,
  doughG: number,
): { readonly ingredient: string; readonly massG: number }[] {
  const total = dough.formula.reduce((sum, line) => sum + line.bakersPercent, 0);
  return dough.formula.map(({ ingredient, bakersPercent }) => ({
    ingredient,
    massG: (doughG * bakersPercent) / total,
  }));
}

const ingredientsById = new WeakMap<Catalogue, ReadonlyMap<string, Ingredient>>();

function allergensOf(catalogue: Catalogue, ingredients: readonly string[]): ReadonlySet<string> {
  let byId = ingredientsById.get(catalogue);
  if (!byId) {
    byId = new Map(catalogue.ingredients.map((ingredient) => [ingredient.id, ingredient]));
    ingredientsById.set(catalogue, byId);
  }
  return new Set(ingredients.flatMap((id) => byId.get(id)?.allergens ?? []));
}

type Allergens = ReadonlySet<string>;

const known = new WeakMap<Catalogue, WeakMap<object, Allergens>>();

/** Every load of a day asks; the answer is worked out once for each dough and product. */
function knownOf(catalogue: Catalogue): WeakMap<object, Allergens> {
  let byOwner = known.get(catalogue);
  if (!byOwner) {
    byOwner = new WeakMap();
    known.set(catalogue, byOwner);
  }
  return byOwner;
}

/** Allergens of a dough: those of its formula. */
export function allergensOfDough(catalogue: Catalogue, dough: Pick<Dough, "formula">): Allergens {
  const byOwner = knownOf(catalogue);
  let allergens = byOwner.get(dough);
  if (!allergens) {
    allergens = allergensOf(
      catalogue,
      dough.formula.map((line) => line.ingredient),
    );
    byOwner.set(dough, allergens);
  }
  return allergens;
}

/** Allergens of a product: those of its dough and its toppings. */
export function allergensOfProduct(catalogue: Catalogue, product: Product): Allergens {
  const byOwner = knownOf(catalogue);
  let allergens = byOwner.get(product);
  if (!allergens) {
    const dough = catalogue.doughs.find((candidate) => candidate.id === product.dough);
    const toppings = (product.toppings ?? []).map((topping) => topping.ingredient);
    allergens = allergensOf(catalogue, [...(dough?.formula ?? []).map((line) => line.ingredient), ...toppings]);
    byOwner.set(product, allergens);
  }
  return allergens;
}

/** Must a unit be cleaned when something with allergens `next` follows something with `last`? Only what is left behind counts. */
export function needsClean(last: ReadonlySet<string>, next: ReadonlySet<string>): boolean {
  for (const allergen of last) if (!next.has(allergen)) return true;
  return false;
}
