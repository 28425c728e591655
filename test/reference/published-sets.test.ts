import { describe, expect, it } from "vitest";
import { hasReference, known, referenceText } from "../support/reference.js";
import { type FlowShop, leastMakespan, makespanWithin } from "./flow-shop.js";

/**
 * Sets that the kitchen's model expresses without twisting: stages as stations, waits as waits, sites as factories. No deadline below a proven
 * optimum may be met; how near the search comes is measured, and held to a gap. The search is made for days on which shelves, people and
 * decks are scarce; on these sets, where nothing but machine order matters, it reaches the optimum on some and comes within the gap on all.
 *
 * Not expressed: rcpsp_max and rcpsp_reservoir (activities with any number of predecessors; a load is a chain), batch_machine (jobs of a
 * machine load start together; loads join a deck when they like). Larger sets, and job shops: `npm run bench -- published`.
 */
const GREATEST_GAP = 0.18;

const WIDE = 1_000_000;

/** Source: hybrid_flowshop_derived of the reference folder, three optima each from two CP-SAT models. */
describe.runIf(hasReference("hybrid_flowshop_derived"))("hybrid flow shops with waits", () => {
  for (const row of known("hybrid_flowshop_derived")) {
    const data = JSON.parse(referenceText("hybrid_flowshop_derived", row.instance!)) as {
      machines_per_stage: number[];
      processing_times: number[][];
      max_wait: number;
    };
    const shop = (maxWait: number): FlowShop => ({
      times: data.processing_times,
      machinesPerStage: data.machines_per_stage,
      maxWait,
      sites: 1,
    });
    it.each([
      ["any wait", WIDE, Number(row.optimum_unlimited_wait)],
      ["limited waits", data.max_wait, Number(row.optimum_with_max_wait)],
      ["no wait", 0, Number(row.optimum_no_wait)],
    ])(`${row.instance} with %s`, { timeout: 60_000 }, (_name, maxWait, optimum) => {
      expect(makespanWithin(shop(maxWait), optimum - 1, 150)).toBe(false);
      const found = leastMakespan(shop(maxWait), optimum * 2, optimum, 700);
      expect(found).toBeGreaterThanOrEqual(optimum);
      expect(found).toBeLessThanOrEqual(optimum * (1 + GREATEST_GAP));
    });
  }
});

/** Source: distributed_flowshop (Naderi & Ruiz), optima proved; up to three machines, where orders that differ by machine gain nothing. */
describe.runIf(hasReference("distributed_flowshop"))("which site makes what", () => {
  for (const row of known("distributed_flowshop")) {
    const text = referenceText("distributed_flowshop", row.instance!).trim().split(/\r?\n/);
    const machines = Number(text[0]!.trim().split(/\s+/)[1]);
    if (machines > 3) continue;
    const times = text.slice(2).map((line) =>
      line
        .trim()
        .split(/\s+/)
        .map(Number)
        .filter((_, i) => i % 2 === 1),
    );
    const shop: FlowShop = {
      times,
      machinesPerStage: new Array<number>(machines).fill(1),
      maxWait: WIDE,
      sites: Number(text[1]),
    };
    it(`${row.instance}`, { timeout: 60_000 }, () => {
      const optimum = Number(row.upper_bound);
      expect(makespanWithin(shop, optimum - 1, 150)).toBe(false);
      expect(leastMakespan(shop, optimum * 2, optimum, 700)).toBeLessThanOrEqual(optimum * (1 + GREATEST_GAP));
    });
  }
});

function permutations<T>(items: readonly T[]): T[][] {
  if (items.length <= 1) return [[...items]];
  return items.flatMap((item, i) =>
    permutations([...items.slice(0, i), ...items.slice(i + 1)]).map((rest) => [item, ...rest]),
  );
}

/** Makespan of a no-wait flow shop in a given order, from the distances between job starts. */
function noWaitMakespan(order: readonly (readonly number[])[]): number {
  const ends = (job: readonly number[]): number[] => job.map((_, k) => job.slice(0, k + 1).reduce((a, b) => a + b, 0));
  let start = 0;
  order.forEach((job, i) => {
    if (i === 0) return;
    const before = order[i - 1]!;
    start += Math.max(...ends(before).map((end, k) => end - (k > 0 ? ends(job)[k - 1]! : 0)));
  });
  return start + ends(order[order.length - 1]!).at(-1)!;
}

/** Source: Taillard's flow shops read as no-wait (optimum of ta001 = 1486, proved); cut to six jobs it is solved by trying all orders. */
describe.runIf(hasReference("nowait_flowshop_taillard"))("dough that may not stand", () => {
  const read = (file: string): number[][] =>
    referenceText("nowait_flowshop_taillard", file)
      .trim()
      .split(/\r?\n/)
      .slice(2)
      .map((line) => line.trim().split(/\s+/).map(Number));

  for (const row of known("nowait_flowshop_taillard").slice(0, 4)) {
    it(`${row.taillard_name}, six jobs: never below the best of all orders, and near it`, { timeout: 60_000 }, () => {
      const jobs = read(row.instance!).slice(0, 6);
      const optimum = Math.min(...permutations(jobs).map(noWaitMakespan));
      const shop: FlowShop = { times: jobs, machinesPerStage: jobs[0]!.map(() => 1), maxWait: 0, sites: 1 };
      expect(makespanWithin(shop, optimum - 1, 150)).toBe(false);
      expect(leastMakespan(shop, noWaitMakespan(jobs), optimum, 700)).toBeLessThanOrEqual(optimum * (1 + GREATEST_GAP));
    });
  }

  it("ta001 whole: no plan below the optimum", { timeout: 60_000 }, () => {
    const jobs = read("1.txt");
    const shop: FlowShop = { times: jobs, machinesPerStage: jobs[0]!.map(() => 1), maxWait: 0, sites: 1 };
    expect(makespanWithin(shop, 1485, 60)).toBe(false);
  });
});
