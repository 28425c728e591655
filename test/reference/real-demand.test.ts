import { describe, expect, it } from "vitest";
import type { DayDocuments } from "../../schemas/index.js";
import { readDayFolder } from "../../services/day-folder.js";
import { tryDay } from "../../solver/headroom/trial.js";
import { grown } from "../../solver/network/grown.js";
import { boundMultiple } from "../../solver/network/multiple.js";
import { indexDay } from "../../solver/problem/day-index.js";
import { loadLp } from "../support/lp.js";
import { hasReference, referenceText } from "../support/reference.js";

/**
 * Real demand: daily sales of seven dishes of a restaurant (data set yaz of the opimwue/ddop project, BSD 3-clause), first half. Its weekday profile and
 * its spike days scale the demo day, one dish's factor to each third product: a profile that nobody made up goes through bound, search and verifier.
 */
const DISHES = ["calamari", "fish", "shrimp", "chicken", "koefte", "lamb", "steak"] as const;

interface Sold {
  readonly weekday: string;
  readonly isOpen: boolean;
  readonly dishes: readonly number[];
}

function sales(): Sold[] {
  const [header, ...rows] = referenceText("demand_yaz", "yaz_restaurant_daily_first_half.csv").trim().split(/\r?\n/);
  const names = header!.split(",");
  return rows.map((row) => {
    const cells = row.split(",");
    const of = (name: string): string => cells[names.indexOf(name)]!;
    return { weekday: of("weekday"), isOpen: of("is_closed") !== "1", dishes: DISHES.map((dish) => Number(of(dish))) };
  });
}

/** The day's orders scaled product by product by how a day's sales compare with the mean of all open days. */
function scaled(day: DayDocuments, sold: readonly number[], mean: readonly number[], times: number): DayDocuments {
  const products = day.catalogue.products.map(({ id }) => id);
  const lines = day.orders.lines.map((line) => {
    const dish = products.indexOf(line.product) % DISHES.length;
    return { ...line, pieces: Math.max(1, grown(line.pieces, (times * sold[dish]!) / mean[dish]!)) };
  });
  return { ...day, orders: { ...day.orders, lines } };
}

describe.runIf(hasReference("demand_yaz"))("a real demand profile", () => {
  it("goes through: what fits is verified and never contradicts what certainly does not", {
    timeout: 300_000,
  }, async () => {
    const lp = await loadLp();
    const read = await readDayFolder("services/demo/ordinary-day");
    if ("issues" in read) throw new Error(JSON.stringify(read.issues));
    const open = sales().filter(({ isOpen, dishes }) => isOpen && dishes.some((count) => count > 0));
    expect(open.length).toBeGreaterThan(300);
    const mean = DISHES.map((_, d) => open.reduce((sum, { dishes }) => sum + dishes[d]!, 0) / open.length);
    const total = (sold: readonly number[]): number => sold.reduce((sum, count, d) => sum + count / mean[d]!, 0);
    const byTotal = [...open].sort((a, b) => total(a.dishes) - total(b.dishes));
    const weekdays = ["TUE", "SAT"].map((weekday) => {
      const own = open.filter((sold) => sold.weekday === weekday);
      return DISHES.map((_, d) => own.reduce((sum, { dishes }) => sum + dishes[d]!, 0) / own.length);
    });
    // A quiet weekday, a Saturday, and the busiest day of all: a spike as one happened.
    const profiles = [...weekdays, byTotal.at(-1)!.dishes];
    const bounds: number[] = [];
    for (const [i, profile] of profiles.entries()) {
      const day = scaled(read.day, profile, mean, 0.8);
      const { multiple } = boundMultiple(indexDay(day), { lp, most: 4, precision: 0.05 });
      const { trial } = tryDay(day, { lp, now: () => 0, seed: i + 1, iterations: 600 });
      if (trial.fits) expect(multiple).toBeGreaterThanOrEqual(1);
      expect(trial.piecesOnTime).toBeGreaterThan(0);
      bounds.push(multiple);
    }
    // The busiest day leaves less headroom than the quiet one.
    expect(bounds[2]!).toBeLessThan(bounds[0]!);
  });
});
