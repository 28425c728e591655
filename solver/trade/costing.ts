import type { DayDocuments, Product, Timetable } from "../../schemas/index.js";
import { doughForPiecesG, scaleFormula } from "./dough.js";

/** Money is in the settings' currency; ingredients without costPerKg and crews without costPerHour count nothing and are named. */
export interface FoodCost {
  readonly product: string;
  readonly pieces: number;
  readonly perPiece: number;
  readonly total: number;
}

export interface Costing {
  readonly food: readonly FoodCost[];
  readonly foodTotal: number;
  /** Dough mixed beyond what the loads take. */
  readonly spareTotal: number;
  readonly energyTotal: number;
  readonly energyKwh: number;
  readonly labourTotal: number;
  readonly labourHours: number;
  readonly vanTotal: number;
  readonly overtimeTotal: number;
  readonly total: number;
  readonly pieces: number;
  readonly uncosted: readonly string[];
}

/** Food in one piece: its dough with the divider's loss, and its toppings. */
export function foodCostPerPiece(day: DayDocuments, product: Product): number {
  const costs = new Map(day.catalogue.ingredients.map((ingredient) => [ingredient.id, ingredient.costPerKg ?? 0]));
  const dough = day.catalogue.doughs.find(({ id }) => id === product.dough);
  let cost = 0;
  if (dough) {
    for (const { ingredient, massG } of scaleFormula(dough, doughForPiecesG(product, 1)))
      cost += (massG / 1000) * (costs.get(ingredient) ?? 0);
  }
  for (const { ingredient, gPerPiece } of product.toppings ?? [])
    cost += (gPerPiece / 1000) * (costs.get(ingredient) ?? 0);
  return cost;
}

function minutesBetween(from: string, to: string): number {
  return (Date.parse(to) - Date.parse(from)) / 60_000;
}

/** Worked head-hours and their cost: tasks only, at each group's rate; idle time of a shift is not in it. */
function labour(day: DayDocuments, timetable: Timetable): { cost: number; hours: number; uncosted: string[] } {
  let cost = 0;
  let hours = 0;
  const uncosted = new Set<string>();
  for (const task of timetable.tasks) {
    if (!task.crew) continue;
    const group = day.network.sites.find(({ id }) => id === task.site)?.crew.find(({ id }) => id === task.crew!.group);
    const worked = ((task.crew.minutes ?? minutesBetween(task.start, task.end)) * task.crew.heads) / 60;
    hours += worked;
    if (group?.costPerHour === undefined) uncosted.add(group?.name ?? task.crew.group);
    else cost += worked * group.costPerHour;
  }
  return { cost, hours, uncosted: [...uncosted] };
}

/** What a timetable costs in food, energy, hands and vans. */
export function costingOf(day: DayDocuments, timetable: Timetable): Costing {
  const products = new Map(day.catalogue.products.map((product) => [product.id, product]));
  const pieces = new Map<string, number>();
  for (const load of timetable.loads) pieces.set(load.product, (pieces.get(load.product) ?? 0) + load.pieces);
  const food = [...pieces].flatMap(([id, count]): FoodCost[] => {
    const product = products.get(id);
    if (!product) return [];
    const perPiece = foodCostPerPiece(day, product);
    return [{ product: id, pieces: count, perPiece, total: perPiece * count }];
  });
  const costs = new Map(day.catalogue.ingredients.map((ingredient) => [ingredient.id, ingredient.costPerKg ?? 0]));
  let spareTotal = 0;
  const used = new Set<string>();
  for (const batch of timetable.batches) {
    const dough = day.catalogue.doughs.find(({ id }) => id === batch.dough);
    if (!dough) continue;
    for (const { ingredient, massG } of scaleFormula(dough, batch.spareG)) {
      used.add(ingredient);
      spareTotal += (massG / 1000) * (costs.get(ingredient) ?? 0);
    }
  }
  for (const id of pieces.keys()) for (const top of products.get(id)?.toppings ?? []) used.add(top.ingredient);
  const part = (name: string) => timetable.cost.parts.find((entry) => entry.for === name);
  const energy = [part("oven-energy"), part("kettle-energy")];
  const hands = labour(day, timetable);
  const foodTotal = food.reduce((sum, { total }) => sum + total, 0);
  const energyTotal = energy.reduce((sum, entry) => sum + (entry?.amount ?? 0), 0);
  const vanTotal = part("van-runs")?.amount ?? 0;
  const overtimeTotal = part("overtime")?.amount ?? 0;
  const free = day.catalogue.ingredients.filter(({ id, costPerKg }) => used.has(id) && costPerKg === undefined);
  return {
    food,
    foodTotal,
    spareTotal,
    energyTotal,
    energyKwh: energy.reduce((sum, entry) => sum + (entry?.quantity ?? 0), 0),
    labourTotal: hands.cost,
    labourHours: hands.hours,
    vanTotal,
    overtimeTotal,
    total: foodTotal + spareTotal + energyTotal + hands.cost + vanTotal + overtimeTotal,
    pieces: food.reduce((sum, entry) => sum + entry.pieces, 0),
    uncosted: [...free.map(({ name }) => name), ...hands.uncosted],
  };
}
