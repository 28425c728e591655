import type { Hold, Load, Mode, Operation, SearchModel } from "../../solver/search/model.js";

/** By minute, `minutes` later: what was there at the beginning holds before it. */
function later(line: Int32Array, minutes: number): Int32Array {
  const moved = new Int32Array(line.length + minutes).fill(line[0]!);
  moved.set(line, minutes);
  return moved;
}

/** The same model `minutes` later in a longer horizon, with nothing to be had before. */
export function shifted(model: SearchModel, minutes: number): SearchModel {
  const horizon = model.horizon + minutes;
  const at = (t: number): number => (t < 0 ? t : t + minutes);
  const capacity = new Int32Array(model.rowCount * horizon);
  for (let row = 0; row < model.rowCount; row++) {
    const line = model.capacity.subarray(row * model.horizon, (row + 1) * model.horizon);
    capacity.set(line, row * horizon + minutes);
    // A van's positions are kept in its first minute, whenever it drives.
    if (model.trips.some((trip) => trip.row === row)) capacity.fill(line[0]!, row * horizon, (row + 1) * horizon);
  }
  const hold = (one: Hold): Hold => ({
    ...one,
    ride: one.ride && { ...one.ride, leave: at(one.ride.leave), arrive: at(one.ride.arrive) },
  });
  const operation = (one: Operation): Operation => ({ ...one, from: at(one.from), to: at(one.to) });
  const mode = (one: Mode): Mode => ({
    ...one,
    holds: one.holds.map(hold),
    operations: one.operations.map(operation),
    finishBy: at(one.finishBy),
    deliveredAt: at(one.deliveredAt),
  });
  const load = (one: Load): Load => ({
    ...one,
    lateCost: later(one.lateCost, minutes),
    earlyCost: later(one.earlyCost, minutes),
    modes: one.modes.map(mode),
  });
  return {
    ...model,
    horizon,
    capacity,
    heaters: model.heaters.map((heater) => ({
      ...heater,
      stretches: heater.stretches.map(at),
      noLead: heater.noLead.map(at),
    })),
    overtimeOfRow: model.overtimeOfRow.map((one) => {
      if (!one) return null;
      const heads = new Int32Array(horizon);
      heads.set(one.heads, minutes);
      return { ...one, heads };
    }),
    batches: model.batches.map((batch) => ({
      ...batch,
      options: batch.options.map((option) => ({ ...option, from: at(option.from), to: at(option.to) })),
    })),
    loads: model.loads.map(load),
  };
}
