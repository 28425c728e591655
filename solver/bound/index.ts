import type { Lp } from "../lp/choose.js";
import type { SearchModel } from "../search/model.js";
import { Relaxation } from "./relaxation.js";
import { priceBound } from "./safe.js";

export interface BoundOptions {
  readonly lp: Lp;
  readonly seconds: number;
  /** Length of the relaxation's steps; shorter ones bound better and take longer. */
  readonly stepMinutes: number;
}

/** Rows up to which the simplex method is a second try. */
const SMALL = 4000;

/** No plan of the model costs less than this; null when the time did not suffice. In the model's cost unit. */
export function lowerBound(model: SearchModel, { lp, seconds, stepMinutes }: BoundOptions): number | null {
  if (model.loads.length === 0) return 0;
  const relaxed = new Relaxation(model, stepMinutes).build();
  let result = lp(relaxed, { seconds, interiorPoint: true });
  // Without crossover the interior point's answer is now and then too rough to be taken; a basis is not.
  if (result.status === "stopped" && relaxed.rowCount <= SMALL) result = lp(relaxed, { seconds });
  if (result.status !== "optimal" || !result.rowDuals) return null;
  return Math.max(0, Math.ceil(priceBound(relaxed, result.rowDuals) - 1e-6));
}
