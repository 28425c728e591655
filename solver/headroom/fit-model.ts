import { FORBIDDEN, type Load, type SearchModel } from "../search/model.js";

/** What a load that is not made costs, thousandths: in part the same for all, since every one of them must be, and in part by its pieces. */
const UNMADE = 60_000;
const UNMADE_BY_PIECES = 40_000;
/** What a change of temperature costs: it is the deck's time that is wanting, and a change takes that of a load or more. */
const CHANGE = 16_000;

/**
 * The model of which it is asked whether everything can be made on time: money does not count, what would be late is not made, and only that is looked
 * at. With money in it a search never lights an idle shop's oven or pays for a ride, for a single load is not worth it; with pieces alone it gives up the
 * small loads first, and with loads alone the large ones, so that what does not fit looks worse than it is. `pieces`: of each load.
 */
export function fitModel(model: SearchModel, pieces: readonly number[]): SearchModel {
  const mean = pieces.reduce((sum, count) => sum + count, 0) / Math.max(1, pieces.length);
  return {
    ...model,
    heaters: model.heaters.map((heater) => ({ ...heater, costPerMinute: 0, changeCost: CHANGE })),
    overtimeOfRow: model.overtimeOfRow.map(() => null),
    trips: model.trips.map((trip) => ({ ...trip, cost: 0 })),
    loads: model.loads.map(
      (load, l): Load => ({
        ...load,
        dropCost: Math.round(UNMADE + (UNMADE_BY_PIECES * pieces[l]!) / mean),
        lateCost: load.lateCost.map((cost) => (cost > 0 ? FORBIDDEN : 0)),
        earlyCost: load.earlyCost.map((cost) => (cost >= FORBIDDEN ? cost : 0)),
      }),
    ),
  };
}
