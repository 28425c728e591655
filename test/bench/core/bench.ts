import { mkdir, readdir, readFile, writeFile } from "node:fs/promises";
import { loadavg } from "node:os";
import { join } from "node:path";
import { createRng } from "../../../solver/rng.js";
import { anneal } from "../../../solver/search/anneal.js";
import { construct } from "../../../solver/search/construct.js";
import { Draft } from "../../../solver/search/draft.js";
import { coreModel, coreSolution } from "./adapter.js";
import { checkCore } from "./checker.js";
import type { CoreInstance, CoreSolution } from "./format.js";

export interface CoreBenchOptions {
  readonly folder: string;
  readonly seconds: readonly number[];
  readonly seeds: readonly number[];
  readonly out: string | undefined;
}

interface Run {
  readonly cost: number;
  readonly firstMs: number;
  readonly tries: number;
  readonly solution: CoreSolution;
}

function solve(instance: CoreInstance, seed: number, seconds: number): Run {
  const model = coreModel(instance);
  const started = performance.now();
  const draft = new Draft(model, createRng(seed));
  construct(draft);
  const firstMs = performance.now() - started;
  const { best, iterations } = anneal(draft, {
    progress: () => (performance.now() - started) / (seconds * 1000),
    hot: 1,
    cold: 0.01,
    shortShare: 0.25,
  });
  return { cost: best.cost, firstMs, tries: iterations, solution: coreSolution(instance, model, best) };
}

async function knownValues(folder: string): Promise<Map<string, Record<string, string>>> {
  const text = await readFile(join(folder, "known.csv"), "utf8").catch(() => "instance\n");
  const [header, ...rows] = text.trim().split(/\r?\n/);
  const names = header!.split(",");
  return new Map(
    rows.map((row) => {
      const cells = row.split(",");
      return [cells[0]!, Object.fromEntries(names.map((name, i) => [name, cells[i] ?? ""]))];
    }),
  );
}

function median(runs: readonly Run[]): Run {
  return [...runs].sort((a, b) => a.cost - b.cost)[Math.floor((runs.length - 1) / 2)]!;
}

/** Runs the core benchmark and prints its table; 1 when a solution does not pass the checker. */
export async function benchCore(options: CoreBenchOptions): Promise<number> {
  const names = (await readdir(options.folder)).filter((name) => name.endsWith(".json")).sort();
  const known = await knownValues(options.folder);
  let code = 0;
  process.stdout.write(`load average ${loadavg()[0]!.toFixed(2)}; seeds ${options.seeds.join(", ")}\n`);
  process.stdout.write("instance  seconds  median  /search_5s  /search_60s  /best_known  first ms  tries\n");
  if (options.out) await mkdir(options.out, { recursive: true });
  for (const name of names) {
    const instance = JSON.parse(await readFile(join(options.folder, name), "utf8")) as CoreInstance;
    solve(instance, 0, 0.3);
    for (const seconds of options.seconds) {
      const runs = options.seeds.map((seed) => solve(instance, seed, seconds));
      for (const run of runs) {
        const wrong = checkCore(instance, run.solution);
        if (wrong.length === 0) continue;
        code = 1;
        process.stdout.write(`${instance.name}: ${wrong.slice(0, 3).join("; ")}\n`);
      }
      const chosen = median(runs);
      const row = known.get(instance.name);
      const ratio = (column: string): string => (row?.[column] ? (chosen.cost / Number(row[column])).toFixed(3) : "-");
      const cells = [
        instance.name,
        seconds,
        chosen.cost,
        ratio("search_5s"),
        ratio("search_60s"),
        ratio("best_known"),
        chosen.firstMs.toFixed(1),
        chosen.tries,
      ];
      process.stdout.write(`${cells.join("  ")}\n`);
      if (options.out)
        await writeFile(join(options.out, `${instance.name}-${seconds}s.json`), JSON.stringify(chosen.solution));
    }
  }
  return code;
}
