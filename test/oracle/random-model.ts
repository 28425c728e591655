import { createRng, type Rng } from "../../solver/rng.js";
import type { Hold, Load, Mode, Operation, SearchModel } from "../../solver/search/model.js";

const NONE = new Int32Array(0);

/** Rows of the small models: mixer, shelf, crew, bench, proofer, two decks of two classes, rack, pans. */
const ROWS = {
  mixer: 0,
  shelf: 1,
  crew: 2,
  bench: 3,
  proofer: 4,
  deck: 5,
  rack: 9,
  pans: 10,
  heat: 11,
  count: 12,
} as const;

function int(rng: Rng, low: number, high: number): number {
  return low + rng.below(high - low + 1);
}

function hold(rng: Rng, least: number, slack: number, row = -1, amount = 0): Hold {
  // The search asks for the heat's full minutes even of a hold that ends sooner: here holds are no shorter.
  const heated = row === ROWS.shelf && least > 0 && rng.below(2) === 0;
  return {
    least,
    greatest: least + rng.below(slack + 1),
    rows: row < 0 ? NONE : Int32Array.of(row),
    amount,
    heatRows: heated ? Int32Array.of(ROWS.heat) : NONE,
    heatAmount: heated ? 1 : 0,
    heatMinutes: heated ? int(rng, 1, least) : 0,
    ride: null,
  };
}

function mode(rng: Rng, horizon: number): Mode {
  const pans = int(rng, 1, 2);
  const klass = rng.below(2);
  const anyone = { from: 0, to: horizon };
  const crew = rng.below(2) === 0 ? { rows: Int32Array.of(ROWS.crew), heads: 1, minutes: 0 } : null;
  const shape: Operation = { alternatives: [{ row: ROWS.bench, amount: 1, minutes: int(rng, 1, 2) }], crew, ...anyone };
  const bake: Operation = {
    alternatives: [0, 1].map((deck) => ({ row: ROWS.deck + deck * 2 + klass, amount: pans, minutes: int(rng, 2, 3) })),
    crew: rng.below(3) === 0 ? { rows: Int32Array.of(ROWS.crew), heads: 1, minutes: 1 } : null,
    ...anyone,
  };
  const last: Operation =
    rng.below(3) === 0
      ? { alternatives: [{ row: ROWS.bench, amount: 1, minutes: 1 }], crew: null, ...anyone }
      : { alternatives: [{ row: -1, amount: 0, minutes: 0 }], crew: null, ...anyone };
  return {
    site: 0,
    holds: [
      hold(rng, int(rng, 0, 2), 5, ROWS.shelf, 1),
      hold(rng, int(rng, 0, 2), 4, ROWS.proofer, pans),
      hold(rng, int(rng, 0, 2), 3, ROWS.rack, pans),
    ],
    operations: [shape, bake, last],
    anchor: 1,
    spans: rng.below(2) === 0 ? [{ row: ROWS.pans, amount: pans, fromOperation: 0, toOperation: 2 }] : [],
    warmFrom: rng.below(3) === 0 ? 0 : -1,
    warmMinutes: rng.below(2) === 0 ? int(rng, 3, 8) : horizon,
    trip: -1,
    tripAmount: 0,
    finishBy: rng.below(4) === 0 ? horizon - int(rng, 1, 4) : horizon,
    deliveredAt: -1,
  };
}

function load(rng: Rng, batch: number, horizon: number, withEarly: boolean): Load {
  const due = int(rng, Math.floor(horizon / 2), horizon - 2);
  const late = int(rng, 1, 20);
  const early = withEarly ? rng.below(3) : 0;
  const cost = (of: (t: number) => number): Int32Array => Int32Array.from({ length: horizon + 1 }, (_, t) => of(t));
  return {
    batch,
    dropCost: int(rng, 60, 200),
    pinned: false,
    lateCost: cost((t) => late * Math.max(0, t - due)),
    earlyCost: cost((t) => early * Math.max(0, due - t - 3)),
    modes: Array.from({ length: int(rng, 1, 2) }, () => mode(rng, horizon)),
  };
}

/** A search model small enough to be searched through: every kind of row, hold, span and heater, tight. */
export function randomModel(seed: number, horizon: number, loadCount: number, withEarly: boolean): SearchModel {
  const rng = createRng(seed);
  const capacity = new Int32Array(ROWS.count * horizon);
  const fill = (row: number, value: number): void => {
    capacity.fill(value, row * horizon, (row + 1) * horizon);
  };
  fill(ROWS.mixer, 1);
  fill(ROWS.shelf, int(rng, 1, 3));
  fill(ROWS.crew, int(rng, 1, 2));
  fill(ROWS.bench, int(rng, 1, 2));
  fill(ROWS.proofer, int(rng, 2, 3));
  fill(ROWS.rack, int(rng, 2, 4));
  fill(ROWS.pans, int(rng, 2, 4));
  fill(ROWS.heat, int(rng, 1, 2));
  for (let deck = 0; deck < 2; deck++) for (let k = 0; k < 2; k++) fill(ROWS.deck + deck * 2 + k, int(rng, 2, 3));
  for (let gap = 0; gap < 2; gap++) {
    const row = rng.below(ROWS.heat);
    const from = rng.below(horizon);
    capacity.fill(0, row * horizon + from, row * horizon + Math.min(horizon, from + 3));
  }
  const lead = int(rng, 0, 3);
  for (let row: number = ROWS.deck; row < ROWS.deck + 4; row++) capacity.fill(0, row * horizon, row * horizon + lead);
  const change = int(rng, 0, 3);
  const conflicts = Array.from({ length: ROWS.count }, () => NONE);
  for (let deck = 0; deck < 2; deck++) {
    for (let k = 0; k < 2; k++)
      conflicts[ROWS.deck + deck * 2 + k] = Int32Array.of(ROWS.deck + deck * 2 + 1 - k, change, change);
  }
  const heaterOfRow = new Int32Array(ROWS.count).fill(-1);
  const classOfRow = new Int32Array(ROWS.count);
  for (let i = 0; i < 4; i++) {
    heaterOfRow[ROWS.deck + i] = i >> 1;
    classOfRow[ROWS.deck + i] = i & 1;
  }
  const batchOf = Array.from({ length: loadCount }, (_, l) => (loadCount > 1 ? l % 2 : 0));
  return {
    horizon,
    rowCount: ROWS.count,
    capacity,
    conflicts,
    standstills: Array.from({ length: ROWS.count }, () => NONE),
    heaterOfRow,
    classOfRow,
    overtimeOfRow: new Array<null>(ROWS.count).fill(null),
    heaters: [0, 1].map(() => ({
      leadMinutes: lead,
      costPerMinute: int(rng, 1, 3),
      changeCost: rng.below(3),
      stretches: Int32Array.of(0, horizon),
      noLead: NONE,
    })),
    trips: [],
    batches: [...new Set(batchOf)].map((b) => ({
      options: [
        {
          site: 0,
          row: ROWS.mixer,
          minutes: int(rng, 1, 2),
          crew: { rows: Int32Array.of(ROWS.crew), heads: 1, minutes: 0 },
          from: 0,
          to: horizon,
        },
      ],
      loads: Int32Array.from(batchOf.flatMap((own, l) => (own === b ? [l] : []))),
      pinned: false,
    })),
    loads: batchOf.map((b) => load(rng, b, horizon, withEarly)),
  };
}
