import { outagesOf } from "../outages.js";
import type { Plan, PlannedTask } from "../plan.js";
import { fridgeRows, kettleRow, ovenRows } from "./cold-and-hot.js";
import { base, type Common, gaugeOf, placedBars, plural, worked } from "./common.js";
import { crewRows, vanRow } from "./people-and-vans.js";
import type { Row } from "./types.js";

/** Proofers and racks: a strip of positions in use; unfolded, every position by name. */
function positioned(
  common: Common,
  station: "proofer" | "rack",
  unit: { id: string; name: string; positions: number },
  note: string,
): Row {
  const ref = `${common.site.id}/${unit.id}`;
  const own = common.byUnit.get(ref) ?? [];
  const isUnfolded = common.unfolded.has(ref);
  const inUse = (task: PlannedTask): number => (task.task.places ?? []).filter((place) => place.unit === ref).length;
  return {
    ...base(common, station, unit.id, unit.name, note),
    bars: isUnfolded ? own.flatMap((task) => placedBars(task, ref)) : [],
    laneCount: unit.positions,
    lanesArePositions: true,
    ...(isUnfolded ? {} : { gauge: gaugeOf(own, inUse, unit.positions, common.plan.span, "positions") }),
    canUnfold: true,
    isUnfolded,
  };
}

/** Every task by its unit, or by the unit (and the fridge) of its places. */
function indexByUnit(plan: Plan): Map<string, PlannedTask[]> {
  const found = new Map<string, PlannedTask[]>();
  const add = (unit: string, task: PlannedTask): void => {
    const own = found.get(unit);
    if (!own) found.set(unit, [task]);
    else if (own[own.length - 1] !== task) own.push(task);
  };
  for (const task of plan.tasks) {
    if (task.task.unit) add(task.task.unit, task);
    for (const place of task.task.places ?? []) {
      if (place.unit !== task.task.unit) add(place.unit, task);
      const parts = place.unit.split("/");
      if (task.task.does === "retard" && parts.length === 3) add(`${parts[0]}/${parts[1]}`, task);
    }
  }
  return found;
}

/** A row's worth of every station, site by site, in the order in which a dough meets them. */
export function stationRows(plan: Plan, unfolded: ReadonlySet<string>, foldedSites: ReadonlySet<string>): Row[] {
  const byUnit = indexByUnit(plan);
  return plan.day.network.sites.flatMap((site) => {
    const isFolded = foldedSites.has(site.id);
    const head: Row = {
      id: site.id,
      site: site.id,
      station: "site",
      name: site.name,
      note: site.timeZone,
      unit: site.id,
      bars: [],
      laneCount: 1,
      lanesArePositions: false,
      out: outagesOf(plan, site.id),
      canUnfold: true,
      isUnfolded: !isFolded,
    };
    if (isFolded) return [head];
    const common: Common = { plan, site, unfolded, byUnit };
    return [
      head,
      ...site.mixers.map((mixer) => worked(common, "mixer", mixer.id, mixer.name, "", 1)),
      ...site.fridges.flatMap((fridge) => fridgeRows(common, fridge)),
      ...site.benches.map((bench) =>
        worked(common, "bench", bench.id, bench.name, plural(bench.places, "place"), bench.places),
      ),
      ...site.proofers.map((proofer) =>
        positioned(common, "proofer", proofer, `${proofer.tempC} °C, ${proofer.positions}`),
      ),
      ...site.kettles.map((kettle) => kettleRow(common, kettle)),
      ...site.ovens.flatMap((oven) => ovenRows(common, oven)),
      ...site.racks.map((rack) => positioned(common, "rack", rack, plural(rack.positions, "position"))),
      ...vanRow(common),
      ...crewRows(common),
    ];
  });
}
