import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import type { DayDocuments } from "../../../schemas/index.js";
import { checkDay } from "../../../solver/check/index.js";
import { type Chart, logChart } from "../chart.js";
import { type ClockKind, secondsText } from "../clock.js";
import { askFresh } from "../memory.js";
import { profileTable, summed } from "../profile.js";
import { loadText, median, table } from "../table.js";
import { realisticDay } from "./realistic-day.js";
import type { DayRun, DayTask } from "./solve.js";

export interface DaysBenchOptions {
  readonly sizes: readonly number[];
  readonly seconds: readonly number[];
  readonly seeds: readonly number[];
  readonly out: string | undefined;
  readonly isProfiled: boolean;
  readonly clock: ClockKind;
}

export interface NamedDay {
  readonly name: string;
  readonly size: number;
  readonly seed: number;
  readonly day: DayDocuments;
}

interface Row {
  readonly of: NamedDay;
  readonly seconds: number;
  readonly run: DayRun;
  readonly peakMb: number;
}

const WITHIN = [1.05, 1.1] as const;
const WORKER = new URL("./solve.js", import.meta.url);

/** Draws every day at every budget, each in a fresh worker thread; the table grows on the screen. */
export async function runDays(
  days: readonly NamedDay[],
  seconds: readonly number[],
  { isProfiled, clock }: Pick<DaysBenchOptions, "isProfiled" | "clock">,
): Promise<Row[]> {
  const rows: Row[] = [];
  for (const of of days) {
    for (const budget of seconds) {
      const task: DayTask = { day: of.day, seed: of.seed, seconds: budget, isProfiled, clock };
      const { result, peakMb } = await askFresh<DayTask, DayRun>(WORKER, task);
      rows.push({ of, seconds: budget, run: result, peakMb });
      process.stderr.write(`${of.name} ${budget} s: ${result.cost.toFixed(2)}; ${loadText()}\n`);
    }
  }
  return rows;
}

function bestOf(rows: readonly Row[], name: string): number {
  return Math.min(...rows.filter((row) => row.of.name === name).map((row) => row.run.cost));
}

function ordered(day: DayDocuments): number {
  return day.orders.lines.reduce((sum, line) => sum + line.pieces, 0);
}

export function rowsTable(rows: readonly Row[]): string {
  const header =
    "day,loads,budget s,first ms,total ms,cost,/best,short,late,on time %,tries,tries/s,over base MB,breaches";
  return table(
    header.split(","),
    rows.map(({ of, seconds, run, peakMb }) => {
      const placing = run.phases.find(([phase]) => phase === "improving")?.[1] ?? 0;
      const searched = (run.phases.find(([phase]) => phase === "verifying")?.[1] ?? run.elapsedMs) - placing;
      return [
        of.name,
        run.loads,
        seconds,
        run.firstPlanMs.toFixed(0),
        run.elapsedMs.toFixed(0),
        run.cost.toFixed(2),
        (run.cost / bestOf(rows, of.name)).toFixed(3),
        run.shortPieces,
        run.latePieces,
        (100 * (1 - (run.shortPieces + run.latePieces) / ordered(of.day))).toFixed(1),
        run.tries,
        ((1000 * run.tries) / Math.max(1, searched)).toFixed(0),
        peakMb.toFixed(0),
        run.breaches,
      ];
    }),
  );
}

/** Where the time of all runs went, when they were profiled. */
export function printProfile(rows: readonly Row[]): void {
  const lines = summed(rows.map((row) => row.run.profile));
  if (lines.length > 0) process.stdout.write(`\nOwn time of all runs:\n\n${profileTable(lines)}`);
}

/** Seconds until some run of the day was within a factor of the best cost seen for it. */
function secondsUntil(rows: readonly Row[], name: string, factor: number): number {
  const limit = bestOf(rows, name) * factor;
  const times = rows
    .filter((row) => row.of.name === name)
    .flatMap(({ run }) => {
      const hit = run.trace.find(([, cost]) => cost <= limit);
      return [...(hit ? [hit[0]] : []), ...(run.cost <= limit ? [run.elapsedMs] : [])];
    });
  return Math.min(...times) / 1000;
}

/** By size: the medians over days of the first plan and of the time until within 10 and 5 %. */
function growth(rows: readonly Row[], days: readonly NamedDay[]) {
  const sizes = [...new Set(days.map((day) => day.size))].sort((a, b) => a - b);
  return sizes.map((size) => {
    const names = days.filter((day) => day.size === size).map((day) => day.name);
    const first = median(names.map((name) => rows.find((row) => row.of.name === name)!.run.firstPlanMs / 1000));
    const [within5, within10] = WITHIN.map((factor) => median(names.map((name) => secondsUntil(rows, name, factor))));
    return { size, first, within10: within10!, within5: within5! };
  });
}

function growthChart(points: ReturnType<typeof growth>, { seconds, clock }: DaysBenchOptions): Chart {
  return {
    title: "Time to quality by size of the day",
    note: `Medians over days; budgets of ${seconds.join(", ")} s; one thread; from the documents on; ${secondsText(clock)}`,
    xName: "loads",
    yName: "seconds",
    series: [
      { name: "first plan", points: points.map(({ size, first }) => [size, first]) },
      { name: "within 10 % of best", points: points.map(({ size, within10 }) => [size, within10]) },
      { name: "within 5 % of best", points: points.map(({ size, within5 }) => [size, within5]) },
    ],
  };
}

/** Benchmarks generated days; 1 when a timetable breaks a rule. */
export async function benchDays(options: DaysBenchOptions): Promise<number> {
  const days = options.sizes.flatMap((size) =>
    options.seeds.map((seed) => ({ name: `${size}-${seed}`, size, seed, day: realisticDay(seed, size) })),
  );
  for (const { name, day } of days) {
    const issues = checkDay(day);
    if (issues.length > 0) throw new Error(`day ${name} does not pass its checks: ${issues[0]!.message}`);
  }
  const before = loadText();
  const rows = await runDays(days, options.seconds, options);
  const points = growth(rows, days);
  const growthText = table(
    ["loads", "first plan s", "within 10 % s", "within 5 % s"],
    points.map(({ size, first, within10, within5 }) => [
      size,
      first.toFixed(2),
      within10.toFixed(2),
      within5.toFixed(2),
    ]),
  );
  const text = `Before: ${before}; after: ${loadText()}. One thread a run; ${secondsText(options.clock)}.\n\n${rowsTable(rows)}\n${growthText}`;
  process.stdout.write(text);
  printProfile(rows);
  if (options.out !== undefined) {
    await mkdir(options.out, { recursive: true });
    await writeFile(join(options.out, "days.txt"), text);
    await writeFile(join(options.out, "growth.svg"), logChart(growthChart(points, options)));
  }
  return rows.some((row) => row.run.breaches > 0) ? 1 : 0;
}
