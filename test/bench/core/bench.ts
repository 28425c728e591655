import { once } from "node:events";
import { mkdir, readdir, readFile, writeFile } from "node:fs/promises";
import { loadavg } from "node:os";
import { join } from "node:path";
import { Worker } from "node:worker_threads";
import { checkCore } from "./checker.js";
import type { CoreInstance } from "./format.js";
import type { CoreRun, CoreTask } from "./solve.js";

export interface CoreBenchOptions {
  readonly folder: string;
  readonly seconds: readonly number[];
  readonly seeds: readonly number[];
  readonly out: string | undefined;
}

/** Two warm threads; each run of the benchmark is the better of two searches side by side. */
class Pair {
  private readonly workers = [0, 1].map(() => new Worker(new URL("./solve.js", import.meta.url)));

  async run(instance: CoreInstance, seed: number, seconds: number): Promise<CoreRun> {
    const runs = this.workers.map((worker, i) => {
      worker.postMessage({ instance, seed: 2 * seed + i, seconds } satisfies CoreTask);
      return once(worker, "message") as Promise<[CoreRun]>;
    });
    const [[a], [b]] = (await Promise.all(runs)) as [[CoreRun], [CoreRun]];
    return { ...(a.cost <= b.cost ? a : b), firstMs: Math.max(a.firstMs, b.firstMs), tries: a.tries + b.tries };
  }

  async end(): Promise<void> {
    await Promise.all(this.workers.map((worker) => worker.terminate()));
  }
}

/** The rows of known.csv by instance; none when there is no such file. */
export async function knownValues(folder: string): Promise<Map<string, Record<string, string>>> {
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

function median(runs: readonly CoreRun[]): CoreRun {
  return [...runs].sort((a, b) => a.cost - b.cost)[Math.floor((runs.length - 1) / 2)]!;
}

/** Runs the core benchmark and prints its table; 1 when a solution does not pass the checker. */
export async function benchCore(options: CoreBenchOptions): Promise<number> {
  const names = (await readdir(options.folder)).filter((name) => name.endsWith(".json")).sort();
  const known = await knownValues(options.folder);
  const pair = new Pair();
  let code = 0;
  process.stdout.write(`load average ${loadavg()[0]!.toFixed(2)}; seeds ${options.seeds.join(", ")}\n`);
  process.stdout.write("instance  seconds  median  /search_5s  /search_60s  /best_known  first ms  tries\n");
  if (options.out) await mkdir(options.out, { recursive: true });
  for (const name of names) {
    const instance = JSON.parse(await readFile(join(options.folder, name), "utf8")) as CoreInstance;
    await pair.run(instance, 0, 0.5);
    for (const seconds of options.seconds) {
      const runs: CoreRun[] = [];
      for (const seed of options.seeds) runs.push(await pair.run(instance, seed, seconds));
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
  await pair.end();
  return code;
}
