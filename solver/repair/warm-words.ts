import type { StoodWarm } from "../../schemas/index.js";
import { COMES_FIRST, ONLY_COMPUTED } from "../trade/cautions.js";

/** Said with every list of what stood warm. */
export const WARM_CAUTION = `The timetable counts chilling from when the dough ought to have been put away: measure its middle before it is used, and throw it away where your limits say so. ${ONLY_COMPUTED} ${COMES_FIRST}`;

/** For people: one sentence. `clock` writes an instant at a site. */
export function warmText(
  { load, site, from, until, minutes, mostMinutes }: StoodWarm,
  clock: (instant: string, site: string) => string,
): string {
  const most = mostMinutes === undefined ? "" : `, of at most ${mostMinutes} min out of the cold`;
  return `${load} is not in the cold from ${clock(from, site)} to ${clock(until, site)}: ${minutes} min${most}.`;
}
