import type { Dough, Ingredient, Mixer, Site } from "../../schemas/index.js";
import { scaleFormula } from "./dough.js";
import { fDifferenceToC } from "./units.js";
import {
  type BowlPart,
  CP_WATER,
  heatToReach,
  liquidTempByHeat,
  planWater,
  riseOfFactor,
  type WaterPlan,
  waterTempByFactor,
} from "./water.js";

const DEFAULT_TAP_C = 15;
const CHILLED_C = 4;
const FROZEN_C = -18;
/** About 2 F for each minute in the machine (a bakers' forum; the mixer's own measured factor comes before it). */
const FRICTION_PER_MINUTE_C = fDifferenceToC(2);

/** kJ/(kg K): flour 1.80 to 1.88, butter 2.30, whole milk 3.85 (Geankoplis, Transport Processes, table A.4-1). For other dry goods as for flour. */
const CP_DRY = 1.8;
/** Milk 3.9, eggs 3.2, fruit 3.4 to 4.1 (Earle, Unit Operations in Food Processing, appendix 7). */
const CP_OTHER_LIQUID = 3.9;
/** Between butter and fruit, when nothing is said of what is chilled or frozen. */
const CP_COLD_GOODS = 3;
/** Specific heat by water content, of what is dry and of the water (Earle, appendix 7, who calls it a considerable simplification). */
const CP_OF_DRY_SHARE = 0.84;
const CP_OF_WATER_SHARE = 4.19;
/** Below this what is neither flour nor liquid does not spoil the factor method: what a probe thermometer can tell. */
const NOTICED_C = 0.5;

export interface LiquidPlan extends WaterPlan {
  readonly ingredient: string;
  /** Which sum gave the temperature. */
  readonly method: "heat balance" | "factor method";
  /** The factor or rise that was used, C as a difference. */
  readonly frictionC: number;
  /** What it is from: the mixer's measured rise or factor, or the minutes in the machine. */
  readonly frictionFrom: "rise" | "factor" | "minutes";
  readonly tapTempC: number;
  /** Ids of what is colder or warmer than the room and for which the heat balance took a usual specific heat; flour and the liquid aside. */
  readonly usualCp: readonly string[];
}

/** Temperature of an ingredient as it goes into the bowl, C. */
export function ingredientTempC(ingredient: Ingredient, site: Pick<Site, "roomTempC" | "tapWaterTempC">): number {
  if (ingredient.tempC !== undefined) return ingredient.tempC;
  if (ingredient.liquid === "water") return site.tapWaterTempC ?? DEFAULT_TAP_C;
  if (ingredient.storage === "chilled") return CHILLED_C;
  if (ingredient.storage === "frozen") return ingredient.thawMinutes === undefined ? FROZEN_C : CHILLED_C;
  return site.roomTempC;
}

/** Minutes that the machine works the dough. */
export function machineMinutes(dough: Pick<Dough, "mixStages" | "mixMinutes">): number {
  if (!dough.mixStages) return dough.mixMinutes;
  return dough.mixStages.reduce((sum, stage) => sum + (stage.does === "rest" ? 0 : stage.minutes), 0);
}

/** Specific heat, kJ/(kg K): as given, else the usual one of its kind. */
export function ingredientCp(
  ingredient: Pick<Ingredient, "cpKjPerKgK" | "waterPercent" | "liquid" | "storage">,
): number {
  if (ingredient.cpKjPerKgK !== undefined) return ingredient.cpKjPerKgK;
  if (ingredient.waterPercent !== undefined) {
    const water = ingredient.waterPercent / 100;
    return CP_OF_WATER_SHARE * water + CP_OF_DRY_SHARE * (1 - water);
  }
  if (ingredient.liquid !== undefined) return ingredient.liquid === "water" ? CP_WATER : CP_OTHER_LIQUID;
  return ingredient.storage === "chilled" || ingredient.storage === "frozen" ? CP_COLD_GOODS : CP_DRY;
}

interface InBowl extends BowlPart {
  readonly ingredient: Ingredient;
  readonly isFlour: boolean;
}

/** By how much the dough would be colder or warmer for what is neither flour nor liquid, against all of it at the room's temperature. */
function shiftOfOthersC(parts: readonly InBowl[], liquidHeat: number, roomTempC: number): number {
  const heatCapacity = parts.reduce((sum, { massKg, cpKjPerKgK }) => sum + massKg * cpKjPerKgK, liquidHeat);
  const others = parts.filter(({ isFlour }) => !isFlour);
  return others.reduce((sum, part) => sum + heatToReach(part, roomTempC), 0) / heatCapacity;
}

/**
 * The liquid of a batch: its temperature, and water and ice to weigh. By the heat balance over all that is in the bowl, with the mixer's measured rise, else a
 * third of its measured factor, else of about 1.1 C a machine minute. By the factor method where the factor was measured and nothing but flour and liquid counts:
 * there the trade's own sum holds as it was measured. Null when no ingredient in the bowl is a liquid.
 */
export function liquidPlan(
  dough: Dough,
  ingredients: ReadonlyMap<string, Ingredient>,
  massG: number,
  site: Site,
  mixer: Pick<Mixer, "frictionFactorC" | "riseC">,
): LiquidPlan | null {
  const scaled = scaleFormula(dough, massG).flatMap((line, i): InBowl[] => {
    const ingredient = ingredients.get(line.ingredient);
    const { flour, inBowl = true } = dough.formula[i]!;
    if (!ingredient || !inBowl) return [];
    return [
      {
        ingredient,
        isFlour: flour === true,
        massKg: line.massG / 1000,
        cpKjPerKgK: ingredientCp(ingredient),
        tempC: ingredientTempC(ingredient, site),
        waterShare: (ingredient.waterPercent ?? 0) / 100,
      },
    ];
  });
  const first = scaled.find(({ ingredient }) => ingredient.liquid !== undefined);
  if (!first) return null;
  // A formula may name the liquid on more than one line.
  const isLiquid = ({ ingredient }: InBowl): boolean => ingredient.id === first.ingredient.id;
  const liquidKg = scaled.filter(isLiquid).reduce((sum, { massKg }) => sum + massKg, 0);
  const parts = scaled.filter((part) => !isLiquid(part));
  const { doughTempC } = dough;
  const { riseC, frictionFactorC } = mixer;
  const isOrdinary = Math.abs(shiftOfOthersC(parts, liquidKg * first.cpKjPerKgK, site.roomTempC)) < NOTICED_C;
  const common = { ingredient: first.ingredient.id, tapTempC: first.tempC };
  const weighed = (wantedC: number): WaterPlan =>
    planWater(liquidKg * 1000, first.tempC, wantedC, first.ingredient.liquid === "water");
  if (riseC === undefined && frictionFactorC !== undefined && isOrdinary) {
    const flour = parts.filter(({ isFlour }) => isFlour);
    const flourKg = flour.reduce((sum, { massKg }) => sum + massKg, 0);
    const flourTemp = flour.reduce((sum, { massKg, tempC }) => sum + massKg * tempC, 0) / flourKg;
    const wantedC = waterTempByFactor({
      doughTemp: doughTempC,
      others: [flourKg === 0 ? site.roomTempC : flourTemp, site.roomTempC],
      frictionFactor: frictionFactorC,
    });
    return {
      ...weighed(wantedC),
      ...common,
      method: "factor method",
      frictionC: frictionFactorC,
      frictionFrom: "factor",
      usualCp: [],
    };
  }
  const frictionC = riseC ?? riseOfFactor(frictionFactorC ?? FRICTION_PER_MINUTE_C * machineMinutes(dough));
  const wantedC = liquidTempByHeat({
    doughTempC,
    riseC: frictionC,
    parts,
    liquidKg,
    liquidCpKjPerKgK: first.cpKjPerKgK,
  });
  const usual = parts.filter(
    ({ ingredient, isFlour, tempC }) =>
      !isFlour &&
      tempC !== site.roomTempC &&
      ingredient.cpKjPerKgK === undefined &&
      ingredient.waterPercent === undefined,
  );
  return {
    ...weighed(wantedC),
    ...common,
    method: "heat balance",
    frictionC,
    frictionFrom: riseC !== undefined ? "rise" : frictionFactorC !== undefined ? "factor" : "minutes",
    usualCp: [...new Set(usual.map(({ ingredient }) => ingredient.id))],
  };
}
