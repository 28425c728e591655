import type { Timetable } from "../../schemas/index.js";

/** What being late and short costs, in the currency. */
export function wantingCost({ cost }: Timetable): number {
  return cost.parts.reduce((sum, part) => sum + (part.for === "late" || part.for === "short" ? part.amount : 0), 0);
}
