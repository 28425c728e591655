import { readdir, readFile } from "node:fs/promises";
import { loadavg } from "node:os";
import { join } from "node:path";
import { lowerBound } from "../../../solver/bound/index.js";
import { loadHighs } from "../../../solver/lp/engine-highs.js";
import { coreModel } from "./adapter.js";
import { knownValues } from "./bench.js";
import type { CoreInstance } from "./format.js";

/** Prints the bound of every core instance and its gap to the best cost known. */
export async function benchBounds(folder: string, stepMinutes: number, seconds: number): Promise<void> {
  const engine = await loadHighs();
  const known = await knownValues(folder);
  const names = (await readdir(folder)).filter((name) => name.endsWith(".json")).sort();
  process.stdout.write(`load average ${loadavg()[0]!.toFixed(2)}; steps of ${stepMinutes} min, at most ${seconds} s\n`);
  process.stdout.write("instance  seconds  bound  best known  gap %\n");
  for (const name of names) {
    const instance = JSON.parse(await readFile(join(folder, name), "utf8")) as CoreInstance;
    const started = performance.now();
    const bound = lowerBound(coreModel(instance), { lp: engine.solve, seconds, stepMinutes });
    const taken = ((performance.now() - started) / 1000).toFixed(1);
    const best = Number(known.get(instance.name)?.best_known);
    const gap = bound !== null && best > 0 ? ((100 * (best - bound)) / best).toFixed(1) : "-";
    const cells = [instance.name, taken, bound ?? "none", best || "-", gap];
    process.stdout.write(`${cells.join("  ")}\n`);
  }
}
