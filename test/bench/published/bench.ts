import { type ClockKind, clockOf, secondsText } from "../clock.js";
import { loadText, median, table } from "../table.js";
import { NOT_EXPRESSED, SETS } from "./sets.js";
import { fitsSearch } from "./shop.js";
import { solveShop } from "./solve.js";

/** Prints tables of gaps to the best known values of published sets. One thread; every plan is checked by the set's own rules. */
export function benchPublished(
  names: readonly string[],
  seconds: number,
  seeds: readonly number[],
  clock: ClockKind,
): void {
  const now = clockOf(clock, 1);
  for (const { name, note, read } of SETS) {
    if (names.length > 0 && !names.includes(name)) continue;
    const instances = read();
    const before = loadText();
    const rows: (string | number)[][] = [];
    const gaps: number[] = [];
    for (const { name: instance, shop, best, isProven } of instances) {
      if (!fitsSearch(shop)) {
        rows.push([instance, shop.jobs.length, best, isProven ? "proven" : "known", "-", "chain too long"]);
        continue;
      }
      const results = seeds.map((seed) => {
        const started = now();
        return solveShop(shop, () => (now() - started) / (1000 * seconds), seed);
      });
      const value = median(results.map((result) => result.value));
      const gap = best === 0 ? (value === 0 ? 0 : Number.NaN) : (100 * (value - best)) / best;
      gaps.push(gap);
      const tries = results.reduce((sum, result) => sum + result.tries, 0) / seeds.length;
      rows.push([
        instance,
        shop.jobs.length,
        best,
        isProven ? "proven" : "known",
        value,
        gap.toFixed(1),
        tries.toFixed(0),
      ]);
      process.stderr.write(`${name} ${instance}: ${value} against ${best}\n`);
    }
    const usable = gaps.filter((gap) => Number.isFinite(gap));
    const mean = usable.reduce((sum, gap) => sum + gap, 0) / Math.max(1, usable.length);
    process.stdout.write(`\n${name}: ${note}\n`);
    process.stdout.write(
      `${seconds} ${secondsText(clock)}, median of seeds ${seeds.join(", ")}, one thread; before: ${before}; after: ${loadText()}\n\n`,
    );
    process.stdout.write(table(["instance", "jobs", "best", "", "found", "gap %", "tries"], rows));
    process.stdout.write(
      `mean gap ${mean.toFixed(1)} %, greatest ${Math.max(...usable).toFixed(1)} %, at or below the best ${usable.filter((gap) => gap <= 0).length} of ${gaps.length}\n`,
    );
  }
  process.stdout.write(`\nNot expressed:\n${NOT_EXPRESSED.map(([set, why]) => `  ${set}: ${why}\n`).join("")}`);
}
