import { describe, expect, it } from "vitest";
import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { draw } from "../../solver/index.js";
import { boundMultiple } from "../../solver/network/multiple.js";
import { indexDay } from "../../solver/problem/day-index.js";
import { randomDay } from "../days/random-day.js";
import { loadLp } from "../support/lp.js";

const LONG = process.env.DECKSHELF_LONG === "1";
const DAYS = LONG ? 4000 : 120;
const FIRST_SEED = LONG ? Number(process.env.DECKSHELF_SEED ?? 500_000) : 1;
/** Days on which something was said to be impossible that was not. 900971: a deck of an oven with one thermostat is hot when it is back in service. */
const ONCE_WRONG = [900_971];
const lp = await loadLp();

/** The day of which the timetable makes everything on time: what it makes late, or not at all, is not ordered. */
function asMadeOnTime(day: DayDocuments, timetable: Timetable): DayDocuments {
  const pieces = new Map<string, number>();
  const due = new Map(timetable.orders.map((order) => [order.line, Date.parse(order.due)]));
  for (const load of timetable.loads) {
    const own = timetable.tasks.filter((task) => task.load === load.id);
    const end = Math.max(...own.map((task) => Date.parse(task.end)));
    for (const share of load.orders)
      if (end <= due.get(share.line)!) pieces.set(share.line, (pieces.get(share.line) ?? 0) + share.pieces);
  }
  const lines = day.orders.lines.flatMap((line) => {
    const made = pieces.get(line.id) ?? 0;
    return made > 0 ? [{ ...line, pieces: made }] : [];
  });
  return { ...day, orders: { ...day.orders, lines } };
}

describe("what a verified timetable does is never said to be impossible", () => {
  it(`random days from ${FIRST_SEED}`, { timeout: 3_600_000 }, () => {
    let asked = 0;
    let nearest = Number.POSITIVE_INFINITY;
    const seeds = [...ONCE_WRONG, ...Array.from({ length: DAYS }, (_, i) => FIRST_SEED + i)];
    for (const seed of seeds) {
      const day = randomDay(seed, seed % 4 === 0 ? "tiny" : "small");
      const { timetable, breaches } = draw(day, { iterations: 30, seed, now: () => 0, lp });
      // Whether every timetable is sound is asked elsewhere; one that is not says nothing here.
      if (breaches.length > 0) continue;
      const fitting = asMadeOnTime(day, timetable);
      if (fitting.orders.lines.length === 0) continue;
      asked++;
      const { multiple } = boundMultiple(indexDay(fitting), { lp, most: 4, precision: 0.1 });
      expect(multiple, `seed ${seed}`).toBeGreaterThanOrEqual(1);
      nearest = Math.min(nearest, multiple);
    }
    expect(asked).toBeGreaterThan(DAYS / 2);
    // The bound bites: on some day nothing beyond what was made can be.
    expect(nearest).toBeLessThan(1.2);
  });
});
