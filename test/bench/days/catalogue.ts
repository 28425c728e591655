import type { Catalogue, Dough, HandOver, Ingredient, Product, Route, Shape, Step } from "../../../schemas/index.js";

/** The catalogue of the bench's bakeries, all invented: eight doughs, each with up to six products of its own. */

/** How a dough's products are made; the bench's usual minutes, common practice, no source. */
interface Kind {
  readonly id: string;
  readonly name: string;
  readonly absorptionPercent: number;
  readonly extras: readonly (readonly [ingredient: string, bakersPercent: number])[];
  readonly mixMinutes: number;
  readonly panType: string;
  readonly pieceG: number;
  readonly shape: Shape;
  readonly heightMm: number;
  readonly tempC: number;
  readonly bakeMinutes: number;
  readonly coolMinutes: number;
  readonly shapeSeconds: number;
  readonly proof: readonly [least: number, greatest: number] | null;
  readonly boil: { readonly seconds: number; readonly sides: number; readonly lyePercent?: number } | null;
  readonly packs: boolean;
  /** Ways to make it, the usual one first. */
  readonly ways: readonly ("tubs" | "pans" | "same-day")[];
  readonly handOvers: readonly HandOver[];
}

/** What sets the products of a dough apart: size, topping, degrees. */
interface Variant {
  readonly name: string;
  readonly size: number;
  readonly topping?: string;
  readonly tempC?: number;
}

const INGREDIENTS: readonly Ingredient[] = [
  { id: "strong-flour", name: "Strong flour", allergens: ["gluten"] },
  { id: "rye-flour", name: "Rye flour", allergens: ["gluten"] },
  { id: "water", name: "Water" },
  { id: "yeast", name: "Yeast" },
  { id: "salt", name: "Salt" },
  { id: "malt", name: "Malt syrup", allergens: ["gluten"] },
  { id: "butter", name: "Butter", allergens: ["milk"] },
  { id: "egg", name: "Egg", allergens: ["egg"] },
  { id: "sugar", name: "Sugar" },
  { id: "sesame", name: "Sesame", allergens: ["sesame"] },
  { id: "poppy", name: "Poppy seed" },
  { id: "hazel", name: "Chopped hazelnut", allergens: ["nuts"] },
  { id: "oats", name: "Rolled oats", allergens: ["gluten"] },
  { id: "coarse-salt", name: "Coarse salt" },
];

const round = (diameterMm: number): Shape => ({ form: "round", diameterMm });
const rectangular = (widthMm: number, depthMm: number): Shape => ({ form: "rectangular", widthMm, depthMm });

const KINDS: readonly Kind[] = [
  // biome-ignore format: one dough a line is a table
  { id: "ring", name: "Ring", absorptionPercent: 54, extras: [["malt", 3]], mixMinutes: 16, panType: "sheet", pieceG: 110, shape: round(105), heightMm: 40, tempC: 240, bakeMinutes: 15, coolMinutes: 20, shapeSeconds: 7, proof: [20, 50], boil: { seconds: 45, sides: 2 }, packs: false, ways: ["tubs", "pans"], handOvers: ["baked"] },
  // biome-ignore format: one dough a line is a table
  { id: "tin", name: "Tin loaf", absorptionPercent: 63, extras: [], mixMinutes: 15, panType: "sheet", pieceG: 800, shape: rectangular(215, 110), heightMm: 110, tempC: 210, bakeMinutes: 33, coolMinutes: 55, shapeSeconds: 20, proof: [45, 80], boil: null, packs: true, ways: ["tubs", "same-day"], handOvers: ["tubs", "baked"] },
  // biome-ignore format: one dough a line is a table
  { id: "roll", name: "Soft roll", absorptionPercent: 58, extras: [["butter", 9], ["egg", 6], ["sugar", 7]], mixMinutes: 16, panType: "sheet", pieceG: 65, shape: round(78), heightMm: 45, tempC: 195, bakeMinutes: 16, coolMinutes: 15, shapeSeconds: 3.5, proof: [30, 70], boil: null, packs: false, ways: ["pans"], handOvers: ["pans", "baked"] },
  // biome-ignore format: one dough a line is a table
  { id: "hearth", name: "Hearth loaf", absorptionPercent: 70, extras: [], mixMinutes: 18, panType: "board", pieceG: 850, shape: round(225), heightMm: 110, tempC: 240, bakeMinutes: 36, coolMinutes: 40, shapeSeconds: 24, proof: [35, 65], boil: null, packs: false, ways: ["tubs"], handOvers: ["baked"] },
  // biome-ignore format: one dough a line is a table
  { id: "fold", name: "Fold", absorptionPercent: 50, extras: [["butter", 30], ["sugar", 9]], mixMinutes: 14, panType: "sheet", pieceG: 72, shape: rectangular(125, 75), heightMm: 55, tempC: 195, bakeMinutes: 18, coolMinutes: 15, shapeSeconds: 10, proof: [60, 100], boil: null, packs: false, ways: ["pans"], handOvers: ["pans", "baked"] },
  // biome-ignore format: one dough a line is a table
  { id: "biscuit", name: "Biscuit", absorptionPercent: 45, extras: [["butter", 40], ["sugar", 45], ["egg", 12]], mixMinutes: 12, panType: "sheet", pieceG: 60, shape: round(80), heightMm: 18, tempC: 180, bakeMinutes: 13, coolMinutes: 15, shapeSeconds: 4, proof: null, boil: null, packs: true, ways: ["tubs"], handOvers: ["tubs", "baked"] },
  // biome-ignore format: one dough a line is a table
  { id: "rye", name: "Rye loaf", absorptionPercent: 72, extras: [["malt", 2]], mixMinutes: 18, panType: "board", pieceG: 780, shape: round(200), heightMm: 100, tempC: 225, bakeMinutes: 40, coolMinutes: 40, shapeSeconds: 22, proof: [35, 60], boil: null, packs: false, ways: ["tubs"], handOvers: ["baked"] },
  // biome-ignore format: one dough a line is a table
  { id: "plait", name: "Plait", absorptionPercent: 52, extras: [["butter", 5]], mixMinutes: 16, panType: "sheet", pieceG: 85, shape: rectangular(150, 65), heightMm: 45, tempC: 225, bakeMinutes: 13, coolMinutes: 15, shapeSeconds: 9, proof: null, boil: { seconds: 15, sides: 1, lyePercent: 3.5 }, packs: false, ways: ["pans"], handOvers: ["baked"] },
];

const VARIANTS: readonly Variant[] = [
  { name: "Plain", size: 1 },
  { name: "Seeded", size: 1, topping: "sesame" },
  { name: "Small", size: 0.7 },
  { name: "Poppy", size: 1, topping: "poppy" },
  { name: "Large", size: 1.3 },
  { name: "Hazel", size: 1, topping: "hazel" },
];

/** Distances at a kettle or an oven: a boiled piece goes on within minutes. */
const SOON = { leastMinutes: 0, greatestMinutes: 4 };

function stepsOf(kind: Kind, way: Kind["ways"][number], topping: string | undefined): Step[] {
  const seconds = { secondsPerPiece: kind.shapeSeconds, secondsPerPan: 20 };
  const shape: Step = {
    does: "shape",
    fixedMinutes: 2,
    ...seconds,
    heads: 1,
    skill: "bench",
    ...(kind.proof === null && way === "tubs" ? { waitAfter: { leastMinutes: 0, greatestMinutes: 30 } } : {}),
  };
  const steps: Step[] = [];
  if (way === "tubs") {
    steps.push({ does: "retard", leastMinutes: kind.packs && !kind.proof ? 360 : 600, greatestMinutes: 1080 });
    steps.push({ does: "temper", leastMinutes: 25, greatestMinutes: 75 }, shape);
  } else if (way === "pans") {
    steps.push({ does: "rest", leastMinutes: 10, greatestMinutes: 60 }, shape);
    steps.push({ does: "retard", leastMinutes: 480, greatestMinutes: 1020 });
  } else steps.push({ does: "rest", leastMinutes: 45, greatestMinutes: 90 }, shape);
  if (kind.boil && way === "pans") steps.push({ does: "temper", leastMinutes: 15, greatestMinutes: 45 });
  else if (kind.proof) {
    steps.push({ does: "proof", leastMinutes: kind.proof[0], greatestMinutes: kind.proof[1] });
  }
  if (kind.boil) {
    const { seconds: secondsPerSide, ...bath } = kind.boil;
    steps.push({ does: "boil", secondsPerSide, ...bath, heads: 1, skill: "boil", waitAfter: SOON });
  }
  if (topping !== undefined && kind.boil) {
    steps.push({ does: "top", secondsPerPiece: 1.2, secondsPerPan: 8, heads: 1, skill: "boil", waitAfter: SOON });
  }
  const { tempC, bakeMinutes: minutes, coolMinutes } = kind;
  steps.push({ does: "bake", tempC, minutes, attendMinutes: 3, heads: 1, skill: "oven" });
  steps.push({ does: "cool", leastMinutes: coolMinutes, greatestMinutes: coolMinutes + 240 });
  if (kind.packs)
    steps.push({
      does: "pack",
      fixedMinutes: 1,
      secondsPerPiece: kind.pieceG > 300 ? 3 : 1.5,
      secondsPerPan: 10,
      heads: 1,
      skill: "pack",
    });
  return steps;
}

function routeOf(kind: Kind, way: Kind["ways"][number], topping: string | undefined): Route {
  const handOvers = kind.handOvers.filter((handOver) => handOver === "baked" || handOver === way);
  return { id: way, name: `As ${way}`, handOvers, steps: stepsOf(kind, way, topping) };
}

function scaled(shape: Shape, size: number): Shape {
  const by = (mm: number): number => Math.round(mm * size ** (1 / 2.5));
  return shape.form === "round"
    ? round(by(shape.diameterMm))
    : rectangular(by(shape.widthMm), Math.min(120, by(shape.depthMm)));
}

function productOf(kind: Kind, variant: Variant): Product {
  const { name, size, topping } = variant;
  return {
    id: `${name.toLowerCase()}-${kind.id}`,
    name: `${name} ${kind.name.toLowerCase()}`,
    dough: kind.id,
    pieceG: Math.round(kind.pieceG * size),
    dividerLossPercent: 1,
    shape: scaled(kind.shape, size),
    heightMm: kind.heightMm,
    gapMm: kind.panType === "board" ? 30 : 20,
    edgeMm: 10,
    panType: kind.panType,
    ...(topping === undefined ? {} : { toppings: [{ ingredient: topping, gPerPiece: Math.ceil(kind.pieceG / 40) }] }),
    routes: kind.ways.map((way) => routeOf(kind, way, topping)),
  };
}

function doughOf(kind: Kind): Dough {
  const flour = kind.id === "rye" ? "rye-flour" : "strong-flour";
  return {
    id: kind.id,
    name: `${kind.name} dough`,
    formula: [
      { ingredient: flour, bakersPercent: 100, flour: true },
      { ingredient: "water", bakersPercent: kind.absorptionPercent },
      { ingredient: "yeast", bakersPercent: 1.5 },
      { ingredient: "salt", bakersPercent: 2 },
      ...kind.extras.map(([ingredient, bakersPercent]) => ({ ingredient, bakersPercent })),
    ],
    absorptionPercent: kind.absorptionPercent,
    mixMinutes: kind.mixMinutes,
    mixSkill: "mix",
    doughTempC: 25,
    tubType: "tub",
    chill: { toTempC: 10, withinMinutes: 360 },
    maxOutOfColdMinutes: 45,
    ...(kind.id === "roll" ? { holdingLimit: { warmMinutes: 240, label: "Bench bakeries' own plan" } } : {}),
  };
}

/** The first `doughs` doughs, each with its first `variants` products. */
export function benchCatalogue(doughs: number, variants: number): Catalogue {
  const kinds = KINDS.slice(0, doughs);
  return {
    format: "catalogue/1",
    name: "Bench bakeries",
    allergens: ["gluten", "milk", "egg", "sesame", "nuts"].map((id) => ({
      id,
      name: id[0]!.toUpperCase() + id.slice(1),
    })),
    ingredients: [...INGREDIENTS],
    doughs: kinds.map(doughOf),
    products: kinds.flatMap((kind) => VARIANTS.slice(0, variants).map((variant) => productOf(kind, variant))),
  };
}
