import { FORBIDDEN, type Load, type SearchModel } from "../search/model.js";

/** What a load that is not made costs, thousandths: the same for all, since every one of them must be. */
const UNMADE = 100_000;

/**
 * The model of which it is asked whether everything can be on time: money does not count, only what is late, and each load that is not made as much
 * as any other. With money in it a search never lights an idle shop's oven or pays for a ride, for a single load is not worth it.
 */
export function fitModel(model: SearchModel): SearchModel {
  return {
    ...model,
    heaters: model.heaters.map((heater) => ({ ...heater, costPerMinute: 0, changeCost: 0 })),
    overtimeOfRow: model.overtimeOfRow.map(() => null),
    trips: model.trips.map((trip) => ({ ...trip, cost: 0 })),
    loads: model.loads.map((load): Load => ({ ...load, dropCost: UNMADE, earlyCost: onlyForbidden(load.earlyCost) })),
  };
}

function onlyForbidden(costs: Int32Array): Int32Array {
  return costs.map((cost) => (cost >= FORBIDDEN ? cost : 0));
}
