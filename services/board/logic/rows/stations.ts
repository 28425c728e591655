import type { Fridge, Oven, PanType, Product, Shelf, Site } from "../../../../schemas/index.js";
import { crewCapacity, resolveWhen } from "../../../../solver/calendar.js";
import { panItemHeightMm, positionsOnDeck, positionsOnShelf } from "../../../../solver/geometry/index.js";
import { MINUTE, msOf, type Span } from "../clock.js";
import { packLanes, runs } from "../lanes.js";
import { type Level, staircase } from "../levels.js";
import type { Plan, PlannedTask } from "../plan.js";
import type { Bar, Gauge, Heat, Row, Station } from "./types.js";

/** Where on a unit a task is: a block of neighbouring positions for each stretch of them. */
function placedBars(task: PlannedTask, unit: string): Bar[] {
  const positions = (task.task.places ?? []).filter((place) => place.unit === unit).map((place) => place.position);
  return runs(positions).map(([first, last]) => ({
    task,
    fromMs: task.fromMs,
    toMs: task.toMs,
    lane: first - 1,
    lanes: last - first + 1,
  }));
}

/** When a unit, or all that it is part of, is out of service. */
export function outagesOf(plan: Plan, unit: string): Span[] {
  const site = plan.sites.get(unit.split("/")[0]!);
  const spans: Span[] = [];
  for (const happening of plan.day.happenings.happenings) {
    if (happening.kind !== "out-of-service") continue;
    if (unit !== happening.unit && !unit.startsWith(`${happening.unit}/`)) continue;
    const at = (when: string): number | undefined => {
      const resolved = resolveWhen(when, site?.timeZone ?? "UTC");
      return "minute" in resolved ? resolved.minute * MINUTE : undefined;
    };
    const fromMs = at(happening.from);
    const toMs = happening.to === undefined ? plan.span.toMs : at(happening.to);
    if (fromMs !== undefined && toMs !== undefined) spans.push({ fromMs, toMs });
  }
  return spans;
}

interface Common {
  readonly plan: Plan;
  readonly site: Site;
  readonly unfolded: ReadonlySet<string>;
  readonly byUnit: ReadonlyMap<string, readonly PlannedTask[]>;
}

function base(common: Common, station: Station, id: string, name: string, note: string) {
  const unit = `${common.site.id}/${id}`;
  return {
    id: unit,
    unit,
    site: common.site.id,
    station,
    name,
    note,
    out: outagesOf(common.plan, unit),
    canUnfold: false,
    isUnfolded: false,
    lanesArePositions: false,
  };
}

const plural = (n: number, one: string, many = `${one}s`): string => `${n} ${n === 1 ? one : many}`;

/** Mixers, benches and kettles: bars in as many lanes as are needed. */
function worked(common: Common, station: Station, id: string, name: string, note: string, leastLanes: number): Row {
  const own = common.byUnit.get(`${common.site.id}/${id}`) ?? [];
  const heads = (task: PlannedTask): number => (station === "bench" ? (task.task.crew?.heads ?? leastLanes) : 1);
  const { lanes, count } = packLanes(own, heads);
  const bars = own.map(
    (task, i): Bar => ({ task, fromMs: task.fromMs, toMs: task.toMs, lane: lanes[i]!, lanes: heads(task) }),
  );
  return { ...base(common, station, id, name, note), bars, laneCount: Math.max(leastLanes, count) };
}

function gaugeOf(
  own: readonly PlannedTask[],
  of: (task: PlannedTask) => number,
  room: number,
  span: Span,
  counts: string,
): Gauge {
  const levels = staircase(own.map((task) => ({ fromMs: task.fromMs, toMs: task.toMs, amount: of(task) })));
  return { levels, room: [{ ms: span.fromMs, used: room }], most: room, counts };
}

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

function fridgeRows(common: Common, fridge: Fridge): Row[] {
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

function ovenRows(common: Common, oven: Oven): Row[] {
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

function kettleRow(common: Common, kettle: Site["kettles"][number]): Row {
  const row = worked(common, "kettle", kettle.id, kettle.name, `${kettle.litres} l`, 1);
  const program = common.plan.timetable.kettleProgram.find((entry) => entry.kettle === row.id);
  const heats = (program?.on ?? []).map(
    (on): Heat => ({ fromMs: msOf(on.from), hotMs: msOf(on.boilsFrom), toMs: msOf(on.to) }),
  );
  return { ...row, heats };
}

/** Vans that leave or reach the site: one bar per trip that is used. */
function vanRow(common: Common): Row[] {
  const { plan, site } = common;
  const runOf = new Map(plan.day.network.vanRuns.map((run) => [run.id, run]));
  const trips = plan.timetable.vans.filter((van) => runOf.get(van.run)?.from === site.id);
  if (trips.length === 0) return [];
  const stays = trips.map((trip) => ({ fromMs: msOf(trip.departs), toMs: msOf(trip.arrives) }));
  const { lanes, count } = packLanes(stays);
  const bars = trips.map((trip, i): Bar => {
    const run = runOf.get(trip.run)!;
    const positions = trip.loads.reduce((sum, share) => sum + share.positions, 0);
    const to = plan.sites.get(run.to)?.name ?? run.to;
    return {
      task: undefined,
      trip: trip.id,
      text: `${to}: ${positions} of ${run.positions}`,
      ...stays[i]!,
      lane: lanes[i]!,
      lanes: 1,
    };
  });
  return [
    {
      id: `${site.id}/~vans`,
      site: site.id,
      station: "van",
      name: "Vans leaving",
      note: plural(trips.length, "trip"),
      bars,
      laneCount: count,
      lanesArePositions: false,
      out: [],
      canUnfold: false,
      isUnfolded: false,
    },
  ];
}

/** A line of heads by minute as a staircase. */
function stairsOf(line: ArrayLike<number>, fromMs: number): Level[] {
  const levels: Level[] = [];
  for (let i = 0; i < line.length; i++)
    if (i === 0 || line[i] !== line[i - 1]) levels.push({ ms: fromMs + i * MINUTE, used: line[i]! });
  return levels;
}

function crewRows(common: Common): Row[] {
  const { plan, site } = common;
  const window = { fromMinute: plan.span.fromMs / MINUTE, toMinute: plan.span.toMs / MINUTE };
  return site.crew.map((group): Row => {
    const absences = plan.day.happenings.happenings.flatMap((happening) => {
      if (happening.kind !== "absent" || happening.site !== site.id || happening.crew !== group.id) return [];
      const from = resolveWhen(happening.from, site.timeZone);
      const to = resolveWhen(happening.to, site.timeZone);
      return "minute" in from && "minute" in to
        ? [{ fromMinute: from.minute, toMinute: to.minute, heads: happening.heads }]
        : [];
    });
    const { regular, overtime } = crewCapacity(group, site.timeZone, absences, window);
    const heads = Array.from(regular, (count, i) => count + overtime.reduce((sum, line) => sum + line.capacity[i]!, 0));
    const uses = plan.tasks
      .filter((task) => task.site === site.id && task.task.crew?.group === group.id)
      .map((task) => ({
        fromMs: task.fromMs,
        toMs: task.task.crew!.minutes === undefined ? task.toMs : task.fromMs + task.task.crew!.minutes * MINUTE,
        amount: task.task.crew!.heads,
      }));
    const most = Math.max(1, ...heads);
    return {
      id: `${site.id}/~crew/${group.id}`,
      site: site.id,
      station: "crew",
      name: group.name,
      note: `${most} at most`,
      bars: [],
      laneCount: 1,
      lanesArePositions: false,
      gauge: { levels: staircase(uses), room: stairsOf(heads, plan.span.fromMs), most, counts: "people" },
      out: [],
      canUnfold: false,
      isUnfolded: false,
    };
  });
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
