import type { Dough, Ingredient, Mixer, Site } from "../../schemas/index.js";
import { scaleFormula } from "./dough.js";
import { fDifferenceToC } from "./units.js";
import { planWater, type WaterPlan, waterTempByFactor, waterTempByHeat } from "./water.js";

const DEFAULT_TAP_C = 15;
const CHILLED_C = 4;
const FROZEN_C = -18;
/** About 2 F for each minute in the machine (a bakers' forum; the mixer's own measured factor comes before it). */
const FRICTION_PER_MINUTE_C = fDifferenceToC(2);

export interface LiquidPlan extends WaterPlan {
  readonly ingredient: string;
  /** Which sum gave the temperature. */
  readonly method: "heat balance" | "factor method";
  /** The factor or rise that was used, C as a difference, and whether somebody measured it. */
  readonly frictionC: number;
  readonly measured: boolean;
  readonly tapTempC: number;
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

/**
 * The liquid of a batch: its temperature, and water and ice to weigh. With the mixer's measured rise by the heat balance, else by the factor
 * method with the measured factor or about 1.1 C a machine minute. Null when no ingredient of the formula is a liquid.
 */
export function liquidPlan(
  dough: Dough,
  ingredients: ReadonlyMap<string, Ingredient>,
  massG: number,
  site: Site,
  mixer: Pick<Mixer, "frictionFactorC" | "riseC">,
): LiquidPlan | null {
  const scaled = scaleFormula(dough, massG).flatMap((line, i) => {
    const ingredient = ingredients.get(line.ingredient);
    return ingredient ? [{ ...line, ingredient, isFlour: dough.formula[i]!.flour === true }] : [];
  });
  const first = scaled.find(({ ingredient }) => ingredient.liquid !== undefined);
  if (!first) return null;
  // A formula may name the liquid on more than one line.
  const isLiquid = ({ ingredient }: (typeof scaled)[number]): boolean => ingredient.id === first.ingredient.id;
  const liquidG = scaled.filter(isLiquid).reduce((sum, line) => sum + line.massG, 0);
  const meanTemp = (lines: typeof scaled): number => {
    const mass = lines.reduce((sum, line) => sum + line.massG, 0);
    if (mass === 0) return site.roomTempC;
    return lines.reduce((sum, line) => sum + line.massG * ingredientTempC(line.ingredient, site), 0) / mass;
  };
  const isWater = first.ingredient.liquid === "water";
  const tapTempC = ingredientTempC(first.ingredient, site);
  let wantedC: number;
  let method: LiquidPlan["method"];
  let frictionC: number;
  let measured: boolean;
  if (mixer.riseC !== undefined) {
    const dry = scaled.filter((line) => !isLiquid(line));
    method = "heat balance";
    frictionC = mixer.riseC;
    measured = true;
    wantedC = waterTempByHeat({
      doughTempC: dough.doughTempC,
      riseC: frictionC,
      dryKg: dry.reduce((sum, line) => sum + line.massG, 0) / 1000,
      dryTempC: meanTemp(dry),
      waterKg: liquidG / 1000,
    });
  } else {
    method = "factor method";
    measured = mixer.frictionFactorC !== undefined;
    frictionC = mixer.frictionFactorC ?? FRICTION_PER_MINUTE_C * machineMinutes(dough);
    wantedC = waterTempByFactor({
      doughTemp: dough.doughTempC,
      others: [meanTemp(scaled.filter((line) => line.isFlour)), site.roomTempC],
      frictionFactor: frictionC,
    });
  }
  const plan = planWater(liquidG, tapTempC, wantedC, isWater);
  return { ...plan, ingredient: first.ingredient.id, method, frictionC, measured, tapTempC };
}
