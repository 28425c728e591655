import { readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { improvingBounds } from "../../../solver/bound/index.js";
import { loadHighs } from "../../../solver/lp/engine-highs.js";
import { loadText, table } from "../table.js";
import { coreModel } from "./adapter.js";
import { knownValues } from "./bench.js";
import type { CoreInstance } from "./format.js";
import { type CoreSize, heldOut } from "./generate.js";
import { solveCore } from "./solve.js";

export interface BoundBenchOptions {
  readonly folder: string | undefined;
  /** Also instances of the same recipe that nothing was tuned on. */
  readonly withHeldOut: boolean;
  readonly stepMinutes: number;
  /** Of the search and the bound together. */
  readonly seconds: number;
}

const HELD_OUT: readonly (readonly [CoreSize, number])[] = [
  ["S", 1],
  ["S", 2],
  ["S", 3],
  ["S", 4],
  ["M", 1],
  ["M", 2],
  ["L", 1],
  ["L", 2],
];
/** This part of the time goes to a plan: the bound need not look at what alone costs as much. */
const SEARCH_SHARE = 0.15;
const MOST_SEARCH_SECONDS = 6;

async function instancesIn(folder: string): Promise<CoreInstance[]> {
  const names = (await readdir(folder)).filter((name) => name.endsWith(".json")).sort();
  return Promise.all(names.map(async (name) => JSON.parse(await readFile(join(folder, name), "utf8")) as CoreInstance));
}

/** Prints the bound of every instance and its gap to the best cost known, which is the plan found here where no better one is. */
export async function benchBounds(options: BoundBenchOptions): Promise<void> {
  const { folder, seconds, stepMinutes } = options;
  const engine = await loadHighs();
  const known = folder === undefined ? new Map<string, Record<string, string>>() : await knownValues(folder);
  const instances = [
    ...(folder === undefined ? [] : await instancesIn(folder)),
    ...(options.withHeldOut ? HELD_OUT.map(([size, seed]) => heldOut(size, seed)) : []),
  ];
  process.stdout.write(`${loadText()}; steps of ${stepMinutes} min and shorter, at most ${seconds} s, one thread\n`);
  const rows: (string | number)[][] = [];
  for (const instance of instances) {
    const started = performance.now();
    const cpu = process.cpuUsage().user;
    const taken = (): number => (performance.now() - started) / 1000;
    const search = Math.min(MOST_SEARCH_SECONDS, SEARCH_SHARE * seconds);
    const plan = solveCore({ instance, seed: 1, seconds: search, isProfiled: false });
    const best = Math.min(plan.cost, Number(known.get(instance.name)?.best_known ?? Number.POSITIVE_INFINITY));
    let bound = 0;
    let at = 0;
    const secondsLeft = (): number => Math.max(0, seconds - taken());
    for (bound of improvingBounds(coreModel(instance), {
      lp: engine.solve,
      stepMinutes,
      known: plan.cost,
      secondsLeft,
    }))
      at = taken();
    rows.push([
      instance.name,
      plan.cost,
      best,
      bound.toFixed(0),
      ((100 * (best - bound)) / best).toFixed(1),
      at.toFixed(1),
      ((process.cpuUsage().user - cpu) / 1e6).toFixed(1),
    ]);
  }
  process.stdout.write(table(["instance", "plan", "best known", "bound", "gap %", "after s", "CPU s"], rows));
}
