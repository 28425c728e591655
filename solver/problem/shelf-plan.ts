import type { Fridge, PanType, Shelf, Site, TubType } from "../../schemas/index.js";
import { positionsOnShelf } from "../geometry/index.js";
import type { DayIndex } from "./day-index.js";
import { shelvesOf } from "./in-force.js";
import type { ContainerKind } from "./site-rows.js";

const NOTHING_HELD: ReadonlyMap<string, string> = new Map();

/** What shelves hold in the timetable in force: they go on holding it. */
function shelvesInForce({ day: { inForce, catalogue } }: DayIndex): ReadonlyMap<string, string> {
  return inForce ? shelvesOf(inForce, catalogue) : NOTHING_HELD;
}

/** How much a kind lacks, as a share of what it asks: first what it cannot do without. */
function lackOf({ least, demand }: ContainerKind, given: number): number {
  return given < least ? 1 + (least - given) / least : (demand - given) / Math.max(1, demand);
}

/** Which container each shelf holds: whole shelves to the kind that lacks most, highest needs first. */
export function shelfPlan(site: Site, index: DayIndex, containers: readonly ContainerKind[]) {
  const given = new Map(containers.map((container) => [container.key, 0]));
  const plan: { fridge: Fridge; shelf: Shelf; container: ContainerKind; count: number }[] = [];
  const held = shelvesInForce(index);
  for (const fridge of site.fridges) {
    for (const shelf of fridge.shelves) {
      let best: { container: ContainerKind; count: number; lack: number } | null = null;
      const before = held.get(`${site.id}/${fridge.id}/${shelf.id}`);
      for (const container of containers) {
        const count = shelfCount(index, fridge, shelf, container);
        if (count === 0 || (before !== undefined && before !== container.key)) continue;
        const lack = lackOf(container, given.get(container.key)!);
        if (!best || lack > best.lack) best = { container, count, lack };
      }
      if (!best) continue;
      given.set(best.container.key, given.get(best.container.key)! + best.count);
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
