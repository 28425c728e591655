import { mkdir, readdir, readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { SharedLog } from "../../../services/solving/shared-log.js";
import { type ClockKind, secondsText } from "../clock.js";
import { askFresh } from "../memory.js";
import { profileTable, summed } from "../profile.js";
import { loadText, table } from "../table.js";
import { Threads } from "../threads.js";
import { checkCore } from "./checker.js";
import type { CoreInstance } from "./format.js";
import { type CoreSize, heldOut } from "./generate.js";
import type { CoreRun, CoreTask } from "./solve.js";

export interface CoreBenchOptions {
  /** Named instances; undefined: none. */
  readonly folder: string | undefined;
  /** Generated ones besides: seconds of the search that they are compared with; undefined: none. */
  readonly heldOutSeconds: number | undefined;
  readonly seconds: readonly number[];
  readonly seeds: readonly number[];
  readonly out: string | undefined;
  readonly isProfiled: boolean;
  readonly clock: ClockKind;
  /** Two searches that know nothing of each other, whatever the size. */
  readonly isApart: boolean;
}

const WORKER = new URL("./solve.js", import.meta.url);
const HELD_OUT: readonly (readonly [CoreSize, number])[] = (["S", "M", "L", "XL"] as const).flatMap((size) =>
  [11, 12].map((seed) => [size, seed] as const),
);

/** Two warm threads; each run of the benchmark is the better plan of two searches side by side, which share a log as the product's do. */
class Pair {
  private constructor(
    private readonly threads: Threads<CoreTask, CoreRun>,
    private readonly clock: ClockKind,
    private readonly isApart: boolean,
  ) {}

  static async start(clock: ClockKind, isApart: boolean): Promise<Pair> {
    return new Pair(await Threads.start(WORKER, 2), clock, isApart);
  }

  async run(instance: CoreInstance, seed: number, seconds: number, isProfiled: boolean): Promise<CoreRun> {
    const log = this.isApart ? {} : { log: SharedLog.memory() };
    const [a, b] = (await this.threads.run((i) => ({
      instance,
      seed: 2 * seed + i,
      seconds,
      isProfiled,
      clock: this.clock,
      threads: 2,
      ...log,
    }))) as [CoreRun, CoreRun];
    return {
      ...(a.cost <= b.cost ? a : b),
      firstMs: Math.max(a.firstMs, b.firstMs),
      tries: a.tries + b.tries,
      profile: [...a.profile, ...b.profile],
    };
  }

  async end(): Promise<void> {
    await this.threads.end();
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

/** Instances of one table, what is known of them, and the columns that their costs are compared with. */
interface Series {
  readonly title: string;
  readonly instances: readonly CoreInstance[];
  readonly known: ReadonlyMap<string, Record<string, string>>;
  readonly columns: readonly string[];
}

async function named(folder: string): Promise<Series> {
  const names = (await readdir(folder)).filter((name) => name.endsWith(".json")).sort();
  const texts = await Promise.all(names.map((name) => readFile(join(folder, name), "utf8")));
  const instances = texts.map((text) => JSON.parse(text) as CoreInstance);
  const columns = ["search_5s", "search_60s", "best_known"];
  return { title: "named instances, ratios to known.csv", instances, known: await knownValues(folder), columns };
}

/** Nobody else has searched these: they are compared with a longer search of our own, with seeds of its own. */
async function generated(pair: Pair, seconds: number): Promise<Series> {
  const column = `own_${seconds}s`;
  const instances = HELD_OUT.map(([size, seed]) => heldOut(size, seed));
  const known = new Map<string, Record<string, string>>();
  for (const instance of instances) {
    const { cost } = await pair.run(instance, 1000, seconds, false);
    known.set(instance.name, { [column]: String(cost) });
  }
  const title = `held-out instances, ratios to the search's own result in ${seconds} s (one seed pair)`;
  return { title, instances, known, columns: [column] };
}

function median(runs: readonly CoreRun[]): CoreRun {
  return [...runs].sort((a, b) => a.cost - b.cost)[Math.floor((runs.length - 1) / 2)]!;
}

/** Runs one series and prints its table; false when a solution does not pass the checker. */
async function runSeries(
  pair: Pair,
  { title, instances, known, columns }: Series,
  options: CoreBenchOptions,
): Promise<boolean> {
  const header = ["instance", "seconds", "median", ...columns.map((column) => `/${column}`), "unmade", "first ms"];
  const rows: (string | number)[][] = [];
  const profiles: CoreRun["profile"][] = [];
  const before = loadText();
  let isRight = true;
  for (const instance of instances) {
    const { peakMb } = await askFresh<CoreTask, CoreRun>(WORKER, {
      instance,
      seed: 1,
      seconds: 1,
      isProfiled: false,
      clock: options.clock,
      threads: 1,
    });
    await pair.run(instance, 0, 0.5, false);
    for (const seconds of options.seconds) {
      const runs: CoreRun[] = [];
      for (const seed of options.seeds) runs.push(await pair.run(instance, seed, seconds, options.isProfiled));
      for (const run of runs) {
        profiles.push(run.profile);
        const wrong = checkCore(instance, run.solution);
        if (wrong.length === 0) continue;
        isRight = false;
        process.stdout.write(`${instance.name}: ${wrong.slice(0, 3).join("; ")}\n`);
      }
      const chosen = median(runs);
      const row = known.get(instance.name);
      const ratios = columns.map((column) => (row?.[column] ? (chosen.cost / Number(row[column])).toFixed(3) : "-"));
      const unmade = Object.values(chosen.solution.loads).filter((load) => load === null).length;
      const firstMs = chosen.firstMs.toFixed(1);
      const rest = [...ratios, unmade, firstMs, chosen.tries, peakMb.toFixed(0)];
      rows.push([instance.name, seconds, chosen.cost, ...rest]);
      process.stderr.write(`${instance.name} ${seconds} s: ${chosen.cost} (${ratios.join(" ")}); ${loadText()}\n`);
      if (options.out)
        await writeFile(join(options.out, `${instance.name}-${seconds}s.json`), JSON.stringify(chosen.solution));
    }
  }
  process.stdout.write(
    `\n${title}\nseeds ${options.seeds.join(", ")}; ${secondsText(options.clock)}, two threads; before: ${before}; after: ${loadText()}\n\n`,
  );
  process.stdout.write(table([...header, "tries", "over base MB"], rows));
  const lines = summed(profiles);
  if (lines.length > 0) process.stdout.write(`\nOwn time of all runs:\n\n${profileTable(lines)}`);
  return isRight;
}

/** Runs the core benchmark and prints its tables; 1 when a solution does not pass the checker. */
export async function benchCore(options: CoreBenchOptions): Promise<number> {
  if (options.out) await mkdir(options.out, { recursive: true });
  const pair = await Pair.start(options.clock, options.isApart);
  try {
    let isRight = true;
    if (options.folder !== undefined) isRight = await runSeries(pair, await named(options.folder), options);
    if (options.heldOutSeconds !== undefined) {
      const series = await generated(pair, options.heldOutSeconds);
      isRight = (await runSeries(pair, series, options)) && isRight;
    }
    return isRight ? 0 : 1;
  } finally {
    await pair.end();
  }
}
