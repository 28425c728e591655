import type { BakeStep, BoilStep, Catalogue, Dough, Product, Route, StandingStep, Step } from "../../schemas/index.js";

/** What of a catalogue is looked up, kept with it: the documents do not change. */
export interface CatalogueFacts {
  /** Of two with one id the last counts. */
  readonly products: ReadonlyMap<string, Product>;
  readonly doughs: ReadonlyMap<string, Dough>;
  /** Of two with one id the first counts. */
  readonly firstProducts: ReadonlyMap<string, Product>;
  /** Allergens of doughs, and of products with their doughs: the same set for the same allergens. */
  readonly allergens: Map<Dough | Product, ReadonlySet<string>>;
}

const cataloguesKnown = new WeakMap<Catalogue, CatalogueFacts>();

export function catalogueFacts(catalogue: Catalogue): CatalogueFacts {
  let facts = cataloguesKnown.get(catalogue);
  if (!facts) {
    facts = readCatalogue(catalogue);
    cataloguesKnown.set(catalogue, facts);
  }
  return facts;
}

function readCatalogue(catalogue: Catalogue): CatalogueFacts {
  const products = new Map<string, Product>();
  const firstProducts = new Map<string, Product>();
  for (const product of catalogue.products) {
    products.set(product.id, product);
    if (!firstProducts.has(product.id)) firstProducts.set(product.id, product);
  }
  const doughs = new Map<string, Dough>();
  for (const dough of catalogue.doughs) doughs.set(dough.id, dough);
  const allergens = new Map<Dough | Product, ReadonlySet<string>>();
  const sets = new Map<string, ReadonlySet<string>>();
  for (const dough of doughs.values()) allergens.set(dough, shared(sets, allergensOf(catalogue, dough, undefined)));
  for (const product of products.values()) {
    const dough = doughs.get(product.dough);
    if (dough) allergens.set(product, shared(sets, allergensOf(catalogue, dough, product)));
  }
  return { products, doughs, firstProducts, allergens };
}

function allergensOf(catalogue: Catalogue, dough: Dough, product: Product | undefined): string[] {
  const ingredients = new Set(dough.formula.map((line) => line.ingredient));
  for (const topping of product?.toppings ?? []) ingredients.add(topping.ingredient);
  const found: string[] = [];
  for (const ingredient of catalogue.ingredients)
    if (ingredients.has(ingredient.id)) found.push(...(ingredient.allergens ?? []));
  return found;
}

function shared(sets: Map<string, ReadonlySet<string>>, allergens: readonly string[]): ReadonlySet<string> {
  const sorted = [...new Set(allergens)].sort();
  const key = JSON.stringify(sorted);
  const set = sets.get(key) ?? new Set(sorted);
  sets.set(key, set);
  return set;
}

/** What of a route is asked for at every load that is made so. */
export interface RouteFacts {
  /** In what it is retarded; null: it is not. */
  readonly retards: "tubs" | "pans" | null;
  readonly retard: StandingStep | undefined;
  readonly boil: BoilStep | undefined;
  readonly bake: BakeStep | undefined;
  /** At what the proof is wanted, if that is said. */
  readonly proofAtC: number | undefined;
}

const routesKnown = new WeakMap<Route, RouteFacts>();

export function routeFacts(route: Route): RouteFacts {
  let facts = routesKnown.get(route);
  if (!facts) {
    facts = readRoute(route);
    routesKnown.set(route, facts);
  }
  return facts;
}

function readRoute({ steps }: Route): RouteFacts {
  const retard = steps.findIndex((step) => step.does === "retard");
  const shape = steps.findIndex((step) => step.does === "shape");
  return {
    retards: retard < 0 ? null : retard < shape ? "tubs" : "pans",
    retard: standing(steps, "retard"),
    boil: steps.find((step): step is BoilStep => step.does === "boil"),
    bake: steps.find((step): step is BakeStep => step.does === "bake"),
    proofAtC: standing(steps, "proof")?.tempC,
  };
}

function standing(steps: readonly Step[], does: StandingStep["does"]): StandingStep | undefined {
  const step = steps.find((candidate) => candidate.does === does);
  return step && "leastMinutes" in step ? step : undefined;
}

/** The first step of a route that does something. */
export function stepThat({ steps }: Route, does: string): Step | undefined {
  for (const step of steps) if (step.does === does) return step;
  return undefined;
}

export function routeOf(product: Product | undefined, id: string): Route | undefined {
  for (const route of product?.routes ?? []) if (route.id === id) return route;
  return undefined;
}
