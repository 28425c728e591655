import type { Dough } from "../../schemas/index.js";
import { materialOf } from "./thermal.js";

/** Steady flow of a dough that is pulled down to its chilling temperature in the time allowed, W (D9). 0 without a chilling limit. */
export function chillHeatW(
  dough: Pick<Dough, "chill" | "doughTempC" | "thermal" | "composition">,
  doughG: number,
): number {
  const { chill } = dough;
  if (!chill) return 0;
  const riseK = Math.max(0, dough.doughTempC - chill.toTempC);
  return (doughG * materialOf(dough).cpKjPerKgK * riseK) / (chill.withinMinutes * 60);
}

export interface Flow {
  /** Minutes on any clock. */
  readonly from: number;
  readonly to: number;
  readonly watts: number;
}

/** The greatest sum of flows and when it begins; null without flows. */
export function peakOf(flows: readonly Flow[]): { readonly at: number; readonly watts: number } | null {
  let best: { at: number; watts: number } | null = null;
  for (const { from } of flows) {
    const watts = flows.reduce((sum, flow) => sum + (flow.from <= from && from < flow.to ? flow.watts : 0), 0);
    if (!best || watts > best.watts) best = { at: from, watts };
  }
  return best;
}
