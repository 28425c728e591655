import { describe, expect, it } from "vitest";
import type { DayDocuments } from "../../../schemas/index.js";
import { draw, repair } from "../../../solver/index.js";
import { keepAll, withoutPlace } from "../../../solver/repair/keep-all.js";
import { createRng } from "../../../solver/rng.js";
import { anneal } from "../../../solver/search/anneal.js";
import { auditState } from "../../../solver/search/audit.js";
import { Draft } from "../../../solver/search/draft.js";
import { goHome, mixAtHome } from "../../../solver/search/home.js";
import type { Hold, Load, Operation, SearchModel } from "../../../solver/search/model.js";
import { realisticDay } from "../../bench/days/realistic-day.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();
const NONE = new Int32Array(0);
const HORIZON = 1000;
const LOADS = 48;
/** So long the one person who is left works at a load. */
const SHAPE = 10;
const ROWS = { mixer: 0, person: 1, deck: 2, count: 3 } as const;
const FIRST_BAKE = 560;
/** So many loads after the first could each be shaped one turn later. */
const MOVABLE = 2;

/** When a load bakes: those shaped one after another bake far apart. */
function bakeOf(load: number): number {
  return FIRST_BAKE + 8 * ((load * 19) % LOADS);
}

function hold(greatest: number): Hold {
  return { least: 0, greatest, rows: NONE, amount: 0, heatRows: NONE, heatAmount: 0, heatMinutes: 0, ride: null };
}

/**
 * What is mixed is shaped in the evening, each load at its home in one of ten-minute turns. The first load has lost its turn to the second, and has no other;
 * that and the next could each go one turn later, as the third turn is free. The last load can only be shaped when the person is not there.
 */
function evening(): SearchModel {
  const capacity = new Int32Array(ROWS.count * HORIZON);
  capacity.fill(LOADS, ROWS.mixer * HORIZON, HORIZON);
  capacity.fill(1, ROWS.person * HORIZON, ROWS.person * HORIZON + SHAPE * (LOADS + 1));
  capacity.fill(2, ROWS.deck * HORIZON);
  const free = new Int32Array(HORIZON + 1);
  const loads = Array.from({ length: LOADS }, (_, load): Load => {
    const turn = load === 0 ? 0 : load <= MOVABLE ? load - 1 : load;
    const start = load === LOADS - 1 ? HORIZON - 400 : SHAPE * turn;
    const shape: Operation = {
      alternatives: [{ row: -1, amount: 0, minutes: SHAPE }],
      crew: { rows: Int32Array.of(ROWS.person), heads: 1, minutes: 0 },
      from: start,
      to: load > 0 && load <= MOVABLE ? start + SHAPE : start,
    };
    const bake: Operation = {
      alternatives: [{ row: ROWS.deck, amount: 1, minutes: 8 }],
      crew: null,
      from: FIRST_BAKE,
      to: HORIZON - 8,
    };
    const moveCost = new Int32Array(HORIZON + 1).fill(3000);
    moveCost[bakeOf(load)] = 0;
    return {
      batch: load,
      dropCost: 1_000_000,
      pinned: false,
      lateCost: free,
      earlyCost: free,
      modes: [
        {
          site: 0,
          holds: [hold(HORIZON), hold(HORIZON)],
          operations: [shape, bake],
          anchor: 1,
          spans: [],
          warmFrom: -1,
          warmMinutes: HORIZON,
          trip: -1,
          tripAmount: 0,
          finishBy: HORIZON,
          deliveredAt: -1,
        },
      ],
      home: {
        mode: 0,
        starts: Int32Array.of(start, bakeOf(load)),
        alternatives: Int8Array.of(0, 0),
        finish: bakeOf(load) + 8,
        row: ROWS.deck,
        moveCost,
        otherRowCost: 0,
        otherModeCost: 0,
      },
    };
  });
  return {
    horizon: HORIZON,
    rowCount: ROWS.count,
    capacity,
    conflicts: Array.from({ length: ROWS.count }, () => NONE),
    standstills: Array.from({ length: ROWS.count }, () => NONE),
    heaterOfRow: Int32Array.of(-1, -1, 0),
    classOfRow: Int32Array.of(0, 0, 0),
    overtimeOfRow: [null, null, null],
    heaters: [{ leadMinutes: 0, costPerMinute: 1, changeCost: 0, stretches: Int32Array.of(0, HORIZON), noLead: NONE }],
    trips: [],
    batches: loads.map((_, batch) => ({
      options: [{ site: 0, row: ROWS.mixer, minutes: 0, crew: null, from: 0, to: 0 }],
      loads: Int32Array.of(batch),
      pinned: true,
      home: { option: 0, start: 0, moveCost: new Int32Array(HORIZON + 1), otherOptionCost: 0 },
    })),
    loads,
  };
}

/** All at home but the first load and the last. */
function firstPlan(model: SearchModel, seed: number): Draft {
  const draft = new Draft(model, createRng(seed));
  model.batches.forEach((_, batch) => mixAtHome(draft, batch));
  const lost = model.loads.map((_, load) => load).filter((load) => load === 0 || !goHome(draft, load));
  expect(lost).toEqual([0, LOADS - 1]);
  draft.accept();
  return draft;
}

const unmadeOf = ({ model, state }: Draft): number[] =>
  model.loads.map((_, load) => load).filter((load) => state.mode[load]! < 0);

describe("what a first plan of a repair leaves out", () => {
  it("is made when those in its way in the evening give way one after another, though they bake hours apart", () => {
    const model = evening();
    let plain = 0;
    for (let seed = 1; seed <= 6; seed++) {
      const { draft, sureShort } = keepAll(firstPlan(model, seed), (tries) => tries / 600);
      auditState(draft.state);
      expect(unmadeOf(draft), `seed ${seed}`).toEqual([LOADS - 1]);
      expect(sureShort).toBe(1_000_000);
      const other = firstPlan(model, seed);
      anneal(other, { progress: (tries) => tries / 1200, hot: 1, cold: 0.02, shortShare: 0.5 });
      if (unmadeOf(other).length === 1) plain++;
    }
    // Moves that lift what bakes at about the same time seldom find it with twice the tries: where they do, this model no longer shows what force is for.
    expect(plain).toBeLessThanOrEqual(2);
  });

  it("is not gone at when no kitchen has room for it", () => {
    const model = evening();
    expect(withoutPlace(model, [0, 1, LOADS - 1])).toEqual([LOADS - 1]);
  });

  /** A night hand is missing for three hours. Without force three seeds lose 29 870 to 33 670 with 3 000 tries; with it 26 670, 26 680 and 31 930 with 300. */
  it("is kept where a longer search without force loses it", () => {
    const drawn = realisticDay(3, 60);
    const inForce = draw(drawn, { iterations: 0, seed: 1, now: () => 0, lp }).timetable;
    const at = "2026-11-27T01:00:00Z";
    const night = { kind: "absent" as const, site: "commissary-1", crew: "night", heads: 1 };
    const absent = { ...night, from: at, to: "2026-11-27T04:00:00Z" };
    const day: DayDocuments = { ...drawn, inForce, happenings: { format: "happenings/1", at, happenings: [absent] } };
    const { timetable, breaches } = repair(day, { iterations: 300, seed: 1, now: () => 0, lp, onlyOne: true });
    expect(breaches).toEqual([]);
    expect(timetable.cost.parts.find((part) => part.for === "short")?.amount ?? 0).toBeLessThan(29_870);
  });
});
