import {
  FORBIDDEN,
  type Hold,
  type Load,
  MAX_OPERATIONS,
  type Mode,
  type Operation,
  type SearchModel,
} from "../../../solver/search/model.js";
import type { PlanCopy } from "../../../solver/search/plan.js";
import type { CoreInstance, CoreLoad, CoreSolution } from "./format.js";

const NONE = new Int32Array(0);

/** Rows: mixers, shelf, crew, proof, cool, kettles, then decks x temperatures. */
function rowsOf(instance: CoreInstance) {
  const temperatures = [...new Set(instance.loads.map((load) => load.bakeC))].sort((a, b) => a - b);
  const shelf = instance.mixers.length;
  const crew = shelf + 1;
  const proof = crew + 1;
  const cool = proof + 1;
  const kettle = cool + 1;
  const deck = kettle + instance.kettles.length;
  return {
    temperatures,
    shelf,
    crew,
    proof,
    cool,
    kettle,
    deck,
    count: deck + instance.decks.length * temperatures.length,
  };
}

function capacityOf(instance: CoreInstance): Int32Array {
  const { horizon } = instance;
  const rows = rowsOf(instance);
  const capacity = new Int32Array(rows.count * horizon);
  const fill = (row: number, value: number, from = 0, to = horizon): void => {
    capacity.fill(value, row * horizon + Math.max(0, from), row * horizon + Math.min(horizon, to));
  };
  const outages = (unit: string, row: number): void => {
    for (const outage of instance.outages) if (outage.unit === unit) fill(row, 0, outage.from, outage.to);
  };
  instance.mixers.forEach((mixer, i) => {
    fill(i, 1);
    outages(mixer.id, i);
  });
  fill(rows.shelf, instance.shelfTubs);
  for (const { from, to, heads } of instance.crew) fill(rows.crew, heads, from, to);
  fill(rows.proof, instance.proofPans);
  fill(rows.cool, instance.coolPans);
  instance.kettles.forEach((kettle, i) => {
    fill(rows.kettle + i, 1);
    outages(kettle.id, rows.kettle + i);
  });
  instance.decks.forEach((deck, d) => {
    rows.temperatures.forEach((_, c) => {
      const row = rows.deck + d * rows.temperatures.length + c;
      fill(row, deck.pans);
      fill(row, 0, 0, deck.coldStartMin);
      outages(deck.id, row);
    });
  });
  return capacity;
}

function conflictsOf(instance: CoreInstance): Int32Array[] {
  const rows = rowsOf(instance);
  const conflicts: Int32Array[] = Array.from({ length: rows.count }, () => NONE);
  const count = rows.temperatures.length;
  instance.decks.forEach((deck, d) => {
    for (let own = 0; own < count; own++) {
      const list: number[] = [];
      for (let other = 0; other < count; other++) {
        if (other === own) continue;
        const change = (fromC: number, toC: number): number =>
          Math.ceil(Math.abs(toC - fromC) / (toC > fromC ? deck.upCPerMin : deck.downCPerMin) - 1e-9);
        const ownC = rows.temperatures[own]!;
        const otherC = rows.temperatures[other]!;
        list.push(rows.deck + d * count + other, change(otherC, ownC), change(ownC, otherC));
      }
      conflicts[rows.deck + d * count + own] = Int32Array.from(list);
    }
  });
  return conflicts;
}

function hold(least: number, greatest: number, row = -1, amount = 0): Hold {
  const rows = row < 0 ? NONE : Int32Array.of(row);
  return { least, greatest, rows, amount, heatRows: NONE, heatAmount: 0, heatMinutes: 0, ride: null };
}

function operation(alternatives: Operation["alternatives"], crewRow: number, horizon: number): Operation {
  const crew = crewRow < 0 ? null : { rows: Int32Array.of(crewRow), heads: 1, minutes: 0 };
  return { alternatives, crew, from: 0, to: horizon };
}

function modeOf(instance: CoreInstance, load: CoreLoad, shared: Shared): Mode {
  const rows = rowsOf(instance);
  const { horizon } = instance;
  const batch = instance.batches.find((b) => b.id === load.batch)!;
  const klass = rows.temperatures.indexOf(load.bakeC);
  const holds: Hold[] = [];
  const operations: Operation[] = [];
  holds.push(hold(batch.retardMin, batch.retardMax, rows.shelf, load.tubs));
  operations.push(operation([{ row: -1, amount: 0, minutes: 0 }], -1, horizon));
  holds.push(hold(load.temperMin, load.temperMin + 20));
  operations.push(operation([{ row: -1, amount: 0, minutes: load.shapeMin }], rows.crew, horizon));
  holds.push(hold(load.proofMin, load.proofMax, rows.proof, load.pans));
  if (load.boil) {
    const kettles = instance.kettles.map((kettle, i) => ({
      row: rows.kettle + i,
      amount: 1,
      minutes: Math.ceil((Math.ceil(load.pieces / kettle.piecesPerDip) * kettle.cycleSec) / 60),
    }));
    operations.push(operation(kettles, rows.crew, horizon));
    holds.push(hold(0, load.boilToBakeMax));
  }
  const anchor = operations.length;
  const decks = shared.get(`decks ${klass} ${load.pans} ${load.bakeMin}`, () =>
    instance.decks.flatMap((deck, d) =>
      deck.pans < load.pans
        ? []
        : [{ row: rows.deck + d * rows.temperatures.length + klass, amount: load.pans, minutes: load.bakeMin + 2 }],
    ),
  );
  operations.push(operation(decks, -1, horizon));
  holds.push(hold(load.coolMin, load.coolMin, rows.cool, load.pans));
  operations.push(operation([{ row: -1, amount: 0, minutes: 0 }], -1, horizon));
  return {
    site: 0,
    holds,
    operations,
    anchor,
    spans: [],
    warmFrom: -1,
    warmMinutes: horizon,
    trip: -1,
    tripAmount: 0,
    finishBy: horizon,
    deliveredAt: -1,
  };
}

function lateCostOf({ horizon }: CoreInstance, { due, weight }: CoreLoad): Int32Array {
  const lateCost = new Int32Array(horizon + 1);
  for (let t = due + 1; t <= horizon; t++) lateCost[t] = Math.min(FORBIDDEN, 100 * weight * (t - due));
  return lateCost;
}

function earlyCostOf({ horizon }: CoreInstance, { due }: CoreLoad): Int32Array {
  const earlyCost = new Int32Array(horizon + 1);
  for (let t = 0; t < due - 90; t++) earlyCost[t] = due - t - 90;
  return earlyCost;
}

/** What is the same for several loads is one object: a search that reads it again and again finds it in the processor's cache. */
class Shared {
  private readonly known = new Map<string, unknown>();

  get<T>(key: string, make: () => T): T {
    if (!this.known.has(key)) this.known.set(key, make());
    return this.known.get(key) as T;
  }
}

function loadOf(instance: CoreInstance, load: CoreLoad, batch: number, shared: Shared): Load {
  const { id: _, due, weight, batch: __, ...making } = load;
  const { retardMin, retardMax } = instance.batches[batch]!;
  return {
    batch,
    dropCost: 100 * weight * 600,
    pinned: false,
    lateCost: shared.get(`late ${due} ${weight}`, () => lateCostOf(instance, load)),
    earlyCost: shared.get(`early ${due}`, () => earlyCostOf(instance, load)),
    modes: [
      shared.get(`mode ${retardMin} ${retardMax} ${JSON.stringify(making)}`, () => modeOf(instance, load, shared)),
    ],
  };
}

/** The core problem as a search model: one site, one way to make each load. */
export function coreModel(instance: CoreInstance): SearchModel {
  const rows = rowsOf(instance);
  const heaterOfRow = new Int32Array(rows.count).fill(-1);
  const classOfRow = new Int32Array(rows.count);
  for (let row = rows.deck; row < rows.count; row++) {
    heaterOfRow[row] = Math.floor((row - rows.deck) / rows.temperatures.length);
    classOfRow[row] = (row - rows.deck) % rows.temperatures.length;
  }
  const batchIndex = new Map(instance.batches.map((batch, b) => [batch.id, b]));
  const shared = new Shared();
  return {
    horizon: instance.horizon,
    rowCount: rows.count,
    capacity: capacityOf(instance),
    conflicts: conflictsOf(instance),
    standstills: Array.from({ length: rows.count }, () => NONE),
    heaterOfRow,
    classOfRow,
    overtimeOfRow: new Array<null>(rows.count).fill(null),
    heaters: instance.decks.map((deck) => ({
      leadMinutes: deck.coldStartMin,
      costPerMinute: 2,
      changeCost: 0,
      stretches: Int32Array.of(0, instance.horizon),
      noLead: Int32Array.from(
        instance.outages.filter((outage) => outage.unit === deck.id).flatMap((outage) => [outage.from, outage.to]),
      ),
    })),
    trips: [],
    batches: instance.batches.map((batch, b) => ({
      options: instance.mixers
        .map((mixer, row) => ({ mixer, row }))
        .filter(({ mixer }) => mixer.maxKg >= batch.kg)
        .map(({ row }) => ({
          site: 0,
          row,
          minutes: batch.mixMin,
          crew: { rows: Int32Array.of(rows.crew), heads: 1, minutes: 0 },
          from: 0,
          to: instance.horizon,
        })),
      pinned: false,
      loads: Int32Array.from(instance.loads.flatMap((load, l) => (batchIndex.get(load.batch) === b ? [l] : []))),
    })),
    loads: instance.loads.map((load) => loadOf(instance, load, batchIndex.get(load.batch)!, shared)),
  };
}

/** A plan of the search in the specification's solution format. */
export function coreSolution(instance: CoreInstance, model: SearchModel, plan: PlanCopy): CoreSolution {
  const rows = rowsOf(instance);
  const solution: CoreSolution = { batches: {}, loads: {}, objective: plan.cost };
  instance.batches.forEach((batch, b) => {
    if (plan.mixOption[b]! < 0) return;
    const option = model.batches[b]!.options[plan.mixOption[b]!]!;
    solution.batches[batch.id] = { mixer: instance.mixers[option.row]!.id, start: plan.mixStart[b]! };
  });
  instance.loads.forEach((load, l) => {
    if (plan.mode[l]! < 0) {
      solution.loads[load.id] = null;
      return;
    }
    const at = l * MAX_OPERATIONS;
    const mode = model.loads[l]!.modes[0]!;
    const row = mode.operations[mode.anchor]!.alternatives[plan.alternative[at + mode.anchor]!]!.row;
    const shape = plan.start[at + 1]!;
    const deck = instance.decks[Math.floor((row - rows.deck) / rows.temperatures.length)]!.id;
    const bake = plan.start[at + mode.anchor]!;
    const temper = plan.start[at]!;
    if (!load.boil) solution.loads[load.id] = { temper, shape, deck, bake };
    else {
      const kettle = instance.kettles[plan.alternative[at + 2]!]!.id;
      solution.loads[load.id] = { temper, shape, kettle, boil: plan.start[at + 2]!, deck, bake };
    }
  });
  return solution;
}
