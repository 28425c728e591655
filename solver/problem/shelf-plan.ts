import type { Fridge, PanType, Shelf, Site, TubType } from "../../schemas/index.js";
import { positionsOnShelf } from "../geometry/index.js";
import { type DayIndex, isOf } from "./day-index.js";
import { shelvesOf } from "./in-force.js";
import type { ContainerKind } from "./site-rows.js";

const NOTHING_HELD: ReadonlyMap<string, string> = new Map();

/** What shelves hold in the timetable in force: they go on holding it. */
function shelvesInForce({ day: { inForce, catalogue } }: DayIndex): ReadonlyMap<string, string> {
  return inForce ? shelvesOf(inForce, catalogue) : NOTHING_HELD;
}

/** More than any kind lacks. */
const OWED = 1e6;

/** How much a kind lacks, as a share of what it asks: first what it cannot do without. */
function lackOf({ least, demand }: ContainerKind, given: number): number {
  return given < least ? 1 + (least - given) / least : (demand - given) / Math.max(1, demand);
}

/** Positions that a shelf loses from the instant on, because it is out of service or becomes smaller, at the worst of times. */
function lostPositions(index: DayIndex, unit: string, count: number): number {
  const from = index.at ?? 0;
  let left = count;
  for (const outage of index.outages) if (outage.to > from && isOf(unit, outage.unit)) left = 0;
  for (const small of index.shrinkages)
    if (small.to > from && small.unit === unit) left = Math.min(left, small.positions);
  return count - left;
}

/** By kind: what shelves that hold it in the timetable in force lose. Empty shelves go to those first: what stands there has to be carried somewhere. */
function owedTo(site: Site, index: DayIndex, containers: readonly ContainerKind[], held: ReadonlyMap<string, string>) {
  const owed = new Map<string, number>();
  if (held.size === 0 || (index.outages.length === 0 && index.shrinkages.length === 0)) return owed;
  for (const fridge of site.fridges) {
    for (const shelf of fridge.shelves) {
      const unit = `${site.id}/${fridge.id}/${shelf.id}`;
      const container = containers.find(({ key }) => key === held.get(unit));
      if (!container) continue;
      const lost = lostPositions(index, unit, shelfCount(index, fridge, shelf, container));
      if (lost > 0) owed.set(container.key, (owed.get(container.key) ?? 0) + lost);
    }
  }
  return owed;
}

/** Which container each shelf holds: whole shelves to the kind that lacks most, highest needs first. */
export function shelfPlan(site: Site, index: DayIndex, containers: readonly ContainerKind[]) {
  const given = new Map(containers.map((container) => [container.key, 0]));
  const plan: { fridge: Fridge; shelf: Shelf; container: ContainerKind; count: number }[] = [];
  const held = shelvesInForce(index);
  const owed = owedTo(site, index, containers, held);
  for (const fridge of site.fridges) {
    for (const shelf of fridge.shelves) {
      let best: { container: ContainerKind; count: number; lack: number } | null = null;
      const unit = `${site.id}/${fridge.id}/${shelf.id}`;
      const before = held.get(unit);
      const isSpare = before === undefined;
      for (const container of containers) {
        const count = shelfCount(index, fridge, shelf, container);
        if (count === 0 || (before !== undefined && before !== container.key)) continue;
        const own = isSpare && lostPositions(index, unit, count) === 0 ? (owed.get(container.key) ?? 0) : 0;
        const lack = own > 0 ? OWED + own : lackOf(container, given.get(container.key)!);
        if (!best || lack > best.lack) best = { container, count, lack };
      }
      if (!best) continue;
      given.set(best.container.key, given.get(best.container.key)! + best.count);
      if (isSpare) owed.set(best.container.key, (owed.get(best.container.key) ?? 0) - best.count);
      plan.push({ fridge, shelf, container: best.container, count: best.count });
    }
  }
  return plan;
}

/** By the kind of container and the fridge: in another what-if the one may be other and the shelf the same. */
const countsKnown = new WeakMap<PanType | TubType, WeakMap<Fridge, Map<string, number>>>();

/** Asked for hundreds of shelves whenever the day is posed. */
function shelfCount(index: DayIndex, fridge: Fridge, shelf: Shelf, container: ContainerKind): number {
  const type = (container.kind === "tub" ? index.tubTypes : index.panTypes).get(container.type)!;
  const ofType = countsKnown.get(type) ?? new WeakMap<Fridge, Map<string, number>>();
  countsKnown.set(type, ofType);
  const known = ofType.get(fridge) ?? new Map<string, number>();
  ofType.set(fridge, known);
  const key = `${shelf.id} ${container.itemHeightMm} ${container.itemMassG}`;
  const count = known.get(key) ?? countAnew(index, fridge, shelf, container);
  known.set(key, count);
  return count;
}

function countAnew(index: DayIndex, fridge: Fridge, shelf: Shelf, container: ContainerKind): number {
  const { itemHeightMm, itemMassG } = container;
  if (container.kind === "tub") {
    return positionsOnShelf(fridge, shelf, { kind: "tub", tubType: index.tubTypes.get(container.type)!, itemMassG })
      .count;
  }
  const panType = index.panTypes.get(container.type)!;
  return positionsOnShelf(fridge, shelf, { kind: "pan", panType, itemHeightMm, itemMassG }).count;
}
