import { describe, expect, it } from "vitest";
import type { DayDocuments, Task, Timetable } from "../../schemas/index.js";
import { readDayFolder } from "../../services/day-folder.js";
import { replay } from "../../solver/index.js";
import { wilson } from "../../solver/replay/index.js";
import { gammaOfMeanOne } from "../../solver/replay/spread.js";
import { createRng } from "../../solver/rng.js";

/**
 * Replay against closed forms: the Erlang distribution of a sum of exponential times, and the D/M/1 queue (Kleinrock, "Queueing Systems", volume 1, 1975,
 * section 6: G/M/1). Both formulas from memory; they are standard.
 */

/** P(sum of k exponentials of mean 1 <= x) = 1 - e^-x * sum x^i / i!, i < k. */
function erlang(k: number, x: number): number {
  let term = 1;
  let sum = 0;
  for (let i = 0; i < k; i++) {
    sum += term;
    term *= x / (i + 1);
  }
  return 1 - Math.exp(-x) * sum;
}

/** Arrivals every d, exponential service of mean m: the root of s = e^(-d (1 - s) / m), from which time in system is exponential with mean m / (1 - s). */
function rootOfDM1(d: number, m: number): number {
  let s = 0.5;
  for (let i = 0; i < 500; i++) s = Math.exp((-d * (1 - s)) / m);
  return s;
}

/** Four standard errors of a share. */
function tolerance(share: number, runs: number): number {
  return 4 * Math.sqrt((share * (1 - share)) / runs) + 1e-3;
}

const RUNS = 10_000;
const EVERY = 20;
const MINUTES = 16;
const COUNT = 160;

/** One mixer with a mix every 20 minutes that takes 16 on average, exponentially distributed; a load of the last one is due `slack` minutes after plan. */
async function queueDay(slack: number): Promise<{ day: DayDocuments; table: Timetable }> {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error("the demo day is broken");
  const { day } = read;
  const origin = Date.parse("2026-11-23T12:00:00Z");
  const at = (minute: number): string => new Date(origin + minute * 60_000).toISOString().replace(".000Z", "Z");
  const end = (COUNT - 1) * EVERY + MINUTES;
  const product = day.catalogue.products[0]!;
  const tasks: Task[] = Array.from({ length: COUNT }, (_, i) => ({
    id: `b-${i}-mix`,
    does: "mix",
    batch: `b-${i}`,
    site: "weir-yard",
    unit: "weir-yard/spiral-1",
    start: at(i * EVERY),
    end: at(i * EVERY + MINUTES),
  }));
  tasks.push({ id: "l-shape", does: "shape", load: "l", site: "weir-yard", start: at(end), end: at(end + 5) });
  const line = { id: "o", product: product.id, pieces: 1, site: "weir-yard", due: at(end + 5 + slack) };
  const table: Timetable = {
    format: "timetable/1",
    status: "feasible",
    window: { from: at(0), to: at(5700) },
    seed: 1,
    iterations: 0,
    batches: tasks.flatMap(({ batch }) =>
      batch === undefined ? [] : [{ id: batch, dough: product.dough, site: "weir-yard", massG: 1000, spareG: 0 }],
    ),
    loads: [
      {
        id: "l",
        product: product.id,
        route: product.routes[0]!.id,
        batch: `b-${COUNT - 1}`,
        bakedAt: "weir-yard",
        deliveredTo: "weir-yard",
        pieces: 1,
        pans: 1,
        doughG: 100,
        tubs: [],
        orders: [{ line: "o", pieces: 1 }],
        surplusPieces: 0,
      },
    ],
    tasks,
    ovenProgram: [],
    kettleProgram: [],
    vans: [],
    orders: [],
    cost: { total: 0, parts: [] },
  };
  const catalogue = {
    ...day.catalogue,
    doughs: day.catalogue.doughs.map((dough) => ({ ...dough, mixSpreadPercent: 100 })),
    products: day.catalogue.products.map((one) => ({
      ...one,
      routes: one.routes.map((route) => ({
        ...route,
        steps: route.steps.map((step) =>
          "skill" in step && step.does !== "bake" ? { ...step, spreadPercent: 0 } : step,
        ),
      })),
    })),
  };
  const settings = { ...day.settings, window: { from: at(0), to: at(5700) } };
  return {
    day: { ...day, catalogue, settings, orders: { format: "orders/1", lines: [line] } } as DayDocuments,
    table,
  };
}

describe("replay", { timeout: 60_000 }, () => {
  it("draws sums of exponential times as Erlang has them", () => {
    const rng = createRng(7);
    for (const [k, x] of [
      [1, 0.7],
      [3, 2.5],
      [8, 10],
    ] as const) {
      let within = 0;
      for (let run = 0; run < RUNS; run++) {
        let sum = 0;
        for (let i = 0; i < k; i++) sum += gammaOfMeanOne(rng, 1);
        if (sum <= x) within++;
      }
      expect(Math.abs(within / RUNS - erlang(k, x)), `k ${k}`).toBeLessThan(tolerance(erlang(k, x), RUNS));
    }
  });

  it("draws durations with the mean and the spread that are asked for", () => {
    const rng = createRng(3);
    for (const variation of [0.05, 0.15, 0.5, 1.5]) {
      let sum = 0;
      let squares = 0;
      for (let run = 0; run < 40_000; run++) {
        const x = gammaOfMeanOne(rng, variation);
        expect(x).toBeGreaterThanOrEqual(0);
        sum += x;
        squares += x * x;
      }
      const mean = sum / 40_000;
      expect(Math.abs(mean - 1), `mean ${variation}`).toBeLessThan((4 * variation) / 200 + 1e-3);
      expect(Math.abs(Math.sqrt(squares / 40_000 - mean * mean) / variation - 1), `spread ${variation}`).toBeLessThan(
        0.08,
      );
    }
  });

  it("has the chances of the D/M/1 queue for one mixer with a mix every 20 minutes", async () => {
    const root = rootOfDM1(EVERY, MINUTES);
    expect(root).toBeCloseTo(0.629, 2);
    for (const slack of [10, 30, 70]) {
      const { day, table } = await queueDay(slack);
      const { orders } = replay(day, table, { runs: RUNS, seed: 5 });
      // On time means less than a minute after due.
      const inTime = 1 - Math.exp((-(1 - root) * (MINUTES + slack + 1)) / MINUTES);
      expect(Math.abs(orders[0]!.onTime - inTime), `slack ${slack}`).toBeLessThan(tolerance(inTime, RUNS));
      expect(orders[0]!.low).toBeLessThan(orders[0]!.onTime);
      expect(orders[0]!.high).toBeGreaterThan(orders[0]!.onTime);
    }
  });

  it("gives Wilson's interval", () => {
    // Worked by hand: 8 of 10 at 95 %: 0.4902 to 0.9433 (Newcombe, "Two-sided confidence intervals for the single proportion", 1998, gives the formula).
    const { low, high } = wilson(8, 10);
    expect(low).toBeCloseTo(0.4902, 3);
    expect(high).toBeCloseTo(0.9433, 3);
    expect(wilson(0, 100).low).toBeCloseTo(0, 12);
  });

  it("is the same for the same seed, and with no spread always on time", async () => {
    const { day, table } = await queueDay(10);
    expect(replay(day, table, { runs: 50, seed: 2 })).toEqual(replay(day, table, { runs: 50, seed: 2 }));
    const steady = {
      ...day,
      catalogue: { ...day.catalogue, doughs: day.catalogue.doughs.map((dough) => ({ ...dough, mixSpreadPercent: 0 })) },
    };
    expect(replay(steady, table, { runs: 20 }).allOnTime.share).toBe(1);
  });
});
