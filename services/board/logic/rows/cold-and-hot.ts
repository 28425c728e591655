import type { Fridge, Oven, PanType, Product, Shelf, Site } from "../../../../schemas/index.js";
import { panItemHeightMm, positionsOnDeck, positionsOnShelf } from "../../../../solver/geometry/index.js";
import { msOf } from "../clock.js";
import type { Plan, PlannedTask } from "../plan.js";
import { base, type Common, gaugeOf, placedBars, plural, worked } from "./common.js";
import type { Heat, Row } from "./types.js";

/** Positions of a shelf for what stands on it in this timetable, or for the first kind of tub. */
function shelfRoom(plan: Plan, fridge: Fridge, shelf: Shelf, own: readonly PlannedTask[], unit: string): number {
  const task = own.find((candidate) => candidate.task.places?.some((place) => place.unit === unit));
  const highest = Math.max(
    0,
    ...own.flatMap((t) => (t.task.places ?? []).filter((p) => p.unit === unit).map((p) => p.position)),
  );
  const tubType = plan.day.network.tubTypes[0];
  const isPan = task?.load?.tubs.every((tub) => !task.task.places?.some((place) => place.item === tub.id));
  const panType = plan.day.network.panTypes.find((type) => type.id === task?.product?.panType);
  const count =
    isPan && panType && task?.product
      ? positionsOnShelf(fridge, shelf, {
          kind: "pan",
          panType,
          itemHeightMm: panItemHeightMm(task.product, panType),
          itemMassG: panType.massG,
        }).count
      : tubType
        ? positionsOnShelf(fridge, shelf, { kind: "tub", tubType, itemMassG: tubType.massG }).count
        : 0;
  return Math.max(count, highest);
}

export function fridgeRows(common: Common, fridge: Fridge): Row[] {
  const ref = `${common.site.id}/${fridge.id}`;
  const isUnfolded = common.unfolded.has(ref);
  const own = common.byUnit.get(ref) ?? [];
  const rooms = fridge.shelves.map((shelf) => shelfRoom(common.plan, fridge, shelf, own, `${ref}/${shelf.id}`));
  const inUse = (task: PlannedTask): number =>
    (task.task.places ?? []).filter((place) => place.unit.startsWith(`${ref}/`)).length;
  const room = rooms.reduce((sum, count) => sum + count, 0);
  const head: Row = {
    ...base(
      common,
      "fridge",
      fridge.id,
      fridge.name,
      `${fridge.airTempC} °C, ${plural(fridge.shelves.length, "shelf", "shelves")}`,
    ),
    bars: [],
    laneCount: 1,
    gauge: gaugeOf(own, inUse, room, common.plan.span, "shelf positions"),
    canUnfold: true,
    isUnfolded,
  };
  if (!isUnfolded) return [head];
  const shelves = fridge.shelves.map((shelf, i): Row => {
    const unit = `${ref}/${shelf.id}`;
    return {
      ...base(common, "fridge", `${fridge.id}/${shelf.id}`, shelf.id.replace(/-/g, " "), ""),
      bars: own.flatMap((task) => placedBars(task, unit)),
      laneCount: Math.max(1, rooms[i]!),
      lanesArePositions: true,
      isPart: true,
    };
  });
  return [head, ...shelves];
}

function deckHeats(plan: Plan, deck: string): Heat[] {
  const program = plan.timetable.ovenProgram.find((entry) => entry.deck === deck);
  if (!program) return [];
  const sets = program.setpoints.map((set) => ({ at: msOf(set.at), hotMs: msOf(set.hotFrom), tempC: set.tempC }));
  return program.on.flatMap((on) => {
    const fromMs = msOf(on.from);
    const toMs = msOf(on.to);
    const own = sets.filter((set) => set.at >= fromMs && set.at < toMs);
    return own.map(
      (set, i): Heat => ({ fromMs: set.at, hotMs: set.hotMs, toMs: own[i + 1]?.at ?? toMs, tempC: set.tempC }),
    );
  });
}

/** The most pans of any kind that are baked today and fit on the deck. */
function deckRoom(deck: Oven["decks"][number], panTypes: readonly PanType[], products: readonly Product[]): number {
  const used = new Set(products.map((product) => product.panType));
  const counts = panTypes
    .filter((type) => used.has(type.id))
    .map((type) => positionsOnDeck(deck, type, type.heightMm).count);
  return Math.max(1, ...counts);
}

export function ovenRows(common: Common, oven: Oven): Row[] {
  const { network, catalogue } = common.plan.day;
  return oven.decks.map((deck): Row => {
    const ref = `${common.site.id}/${oven.id}/${deck.id}`;
    const own = common.byUnit.get(ref) ?? [];
    const isUnfolded = common.unfolded.has(ref);
    const bars = own.flatMap((task) => placedBars(task, ref));
    const highest = Math.max(0, ...bars.map((bar) => bar.lane + bar.lanes));
    const room = Math.max(deckRoom(deck, network.panTypes, catalogue.products), highest);
    return {
      ...base(
        common,
        "oven",
        `${oven.id}/${deck.id}`,
        `${oven.name}, ${deck.id.replace(/-/g, " ")}`,
        plural(room, "position"),
      ),
      bars,
      laneCount: room,
      lanesArePositions: true,
      heats: deckHeats(common.plan, ref),
      canUnfold: true,
      isUnfolded,
    };
  });
}

export function kettleRow(common: Common, kettle: Site["kettles"][number]): Row {
  const row = worked(common, "kettle", kettle.id, kettle.name, `${kettle.litres} l`, 1);
  const program = common.plan.timetable.kettleProgram.find((entry) => entry.kettle === row.id);
  const heats = (program?.on ?? []).map(
    (on): Heat => ({ fromMs: msOf(on.from), hotMs: msOf(on.boilsFrom), toMs: msOf(on.to) }),
  );
  return { ...row, heats };
}
