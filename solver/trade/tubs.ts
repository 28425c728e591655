import type { Dough, Fridge, TubType } from "../../schemas/index.js";
import { greatestTubMassG } from "./cooling.js";
import { greatestTubForStayG } from "./fermentation.js";

/** What bounds the dough in a tub: the tub itself, the time allowed for chilling, or the stay that its fermentation must bear. */
export interface TubLimit {
  readonly massG: number;
  readonly by: "tub" | "chilling" | "fermentation";
}

/** The greatest tub of a dough in a fridge, and why not greater (D10). */
export function tubLimit(tubType: TubType, dough: Dough, fridge: Fridge): TubLimit {
  const chilled = greatestTubMassG({ tubType, dough, fridge });
  const stay = dough.ferment?.forMinutes;
  const massG = stay === undefined ? chilled : greatestTubForStayG(dough, tubType, fridge, stay, chilled);
  const by = massG < chilled ? "fermentation" : chilled < Math.floor(tubType.maxDoughG) ? "chilling" : "tub";
  return { massG, by };
}
