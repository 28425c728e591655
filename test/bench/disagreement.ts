import { table } from "../../services/text/table.js";
import { multiplied } from "../../solver/headroom/index.js";
import { tryDay } from "../../solver/headroom/trial.js";
import type { Lp } from "../../solver/index.js";
import { boundMultiple } from "../../solver/network/multiple.js";
import { indexDay } from "../../solver/problem/day-index.js";
import { randomDay } from "../days/random-day.js";

const DAYS = 60;
const TRIES = 300;
const MOST = 4;

/** How often the network program does not rule out what the search does not find, on random days; the reverse must not be. */
export function disagreementTable(lp: Lp): string {
  const rows = [["random days at", "days", "ruled out", "fits", "allowed, not found", "ruled out, found"]];
  const asked: [string, (bound: number) => number][] = [
    ["x 1", () => 1],
    ["0.5 x the limit", (bound) => 0.5 * bound],
    ["0.8 x the limit", (bound) => 0.8 * bound],
    ["1.001 x the limit", (bound) => 1.001 * bound],
  ];
  const days = Array.from({ length: DAYS }, (_, i) => ({ seed: i + 1, day: randomDay(i + 1, "small") }))
    .filter(({ day }) => day.orders.lines.length > 0)
    .map((own) => ({ ...own, bound: boundMultiple(indexDay(own.day), { lp, most: MOST, precision: 0.02 }).multiple }))
    .filter(({ bound }) => bound > 0 && bound < MOST);
  for (const [name, multipleOf] of asked) {
    const counts = { out: 0, fits: 0, notFound: 0, wrong: 0 };
    for (const { day, seed, bound } of days) {
      const multiple = multipleOf(bound);
      const options = { lp, now: () => 0, iterations: TRIES };
      const isFound = [seed, seed + 1].some(
        (own) => tryDay(multiplied(day, undefined, multiple), { ...options, seed: own }).trial.fits,
      );
      if (multiple > bound) counts[isFound ? "wrong" : "out"]++;
      else counts[isFound ? "fits" : "notFound"]++;
    }
    rows.push([name, ...[days.length, counts.out, counts.fits, counts.notFound, counts.wrong].map(String)]);
  }
  return `${table(rows, [1, 2, 3, 4, 5]).join("\n")}\n`;
}
