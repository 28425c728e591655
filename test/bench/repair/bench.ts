import type { DayDocuments, Happening, Timetable } from "../../../schemas/index.js";
import { readDayFolder } from "../../../services/day-folder.js";
import { emitTimetable } from "../../../solver/emit/index.js";
import { createLp, createSmallEngine, draw, loadHighs, type RepairResult } from "../../../solver/index.js";
import { changesOf } from "../../../solver/repair/changes.js";
import { placeWaiting } from "../../../solver/repair/index.js";
import { poseRepair } from "../../../solver/repair/pose.js";
import { settle } from "../../../solver/repair/settle.js";
import { createRng } from "../../../solver/rng.js";
import { Draft } from "../../../solver/search/draft.js";
import { copyPlan } from "../../../solver/search/plan.js";
import { verify } from "../../../solver/verify/index.js";
import { type ClockKind, clockOf, secondsText } from "../clock.js";
import { realisticDay } from "../days/realistic-day.js";
import { loadText, median, table } from "../table.js";
import { Threads } from "../threads.js";
import type { RepairTask } from "./solve.js";

export interface RepairBenchOptions {
  readonly sizes: readonly number[];
  /** Budgets that are compared with `long`, all in seconds. */
  readonly seconds: readonly number[];
  readonly long: number;
  readonly seed: number;
  /** Threads that search side by side, as the product's do: the best of so many is taken. */
  readonly lanes: number;
  /** Kinds of outage: deck, mixer, shelf, person. */
  readonly outages: readonly string[];
  readonly clock: ClockKind;
  /** Instants as shares of the time from the first to the last task. */
  readonly instants: readonly number[];
}

const lp = createLp(
  createSmallEngine(() => performance.now()),
  await loadHighs(),
);
/** Repairs before the clock counts: the product's threads are warm after a few. */
const WARM = 8;
const TIMED = 7;
const WARM_REPAIRS = 2;
/** Of the plan in force: by tries, not by the clock, so that a build before a change and one after it repair the same mornings. */
const TRIES_PER_LOAD = 400;

/** A day of so many loads; 0 is the demo's ordinary day. */
async function dayOf(size: number, seed: number): Promise<DayDocuments> {
  if (size > 0) return realisticDay(seed, size);
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error("the demo day is not in order");
  return read.day;
}

interface Scenario {
  readonly name: string;
  readonly day: DayDocuments;
}

function instant(ms: number): string {
  return new Date(Math.round(ms / 60_000) * 60_000).toISOString().replace(".000Z", "Z");
}

/** One deck, one mixer, one fridge shelf or one person out for two and a half hours from the instant on: the busiest of its kind then. */
function scenarios(
  day: DayDocuments,
  inForce: Timetable,
  { instants: shares, outages }: Pick<RepairBenchOptions, "instants" | "outages">,
): Scenario[] {
  const starts = inForce.tasks.map((task) => Date.parse(task.start)).sort((a, b) => a - b);
  const first = starts[0]!;
  const last = starts[starts.length - 1]!;
  return shares.flatMap((share) => {
    const at = first + share * (last - first);
    const to = instant(at + 150 * 60_000);
    const soon = inForce.tasks.filter(
      (task) => Date.parse(task.end) > at && Date.parse(task.start) < at + 150 * 60_000,
    );
    const busiest = (keys: (string | undefined)[]): string | undefined => {
      const counts = new Map<string, number>();
      for (const key of keys) if (key !== undefined) counts.set(key, (counts.get(key) ?? 0) + 1);
      return [...counts].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1))[0]?.[0];
    };
    const out = (unit: string | undefined): Happening[] =>
      unit === undefined ? [] : [{ kind: "out-of-service", unit, from: instant(at), to }];
    const group = busiest(soon.map((task) => (task.crew ? `${task.site} ${task.crew.group}` : undefined)));
    const [site, crew] = (group ?? "").split(" ") as [string, string];
    const kinds: [string, Happening[]][] = [
      ["deck", out(busiest(soon.map((task) => (task.does === "bake" ? task.unit : undefined))))],
      ["mixer", out(busiest(soon.map((task) => (task.does === "mix" ? task.unit : undefined))))],
      [
        "shelf",
        out(
          busiest(soon.flatMap((task) => (task.does === "retard" ? (task.places ?? []).map(({ unit }) => unit) : []))),
        ),
      ],
      ["person", group === undefined ? [] : [{ kind: "absent", site, crew, heads: 1, from: instant(at), to }]],
    ];
    return kinds.flatMap(([name, happenings]) =>
      happenings.length === 0 || !outages.includes(name)
        ? []
        : [
            {
              name: `${name} at ${instant(at).slice(11, 16)}Z`,
              day: { ...day, inForce, happenings: { format: "happenings/1" as const, at: instant(at), happenings } },
            },
          ],
    );
  });
}

/** Loads that serve an order, late cost, and moved tasks. */
function measure({ timetable, changes, breaches, movesCost }: RepairResult) {
  const part = (what: string): number => timetable.cost.parts.find((one) => one.for === what)?.amount ?? 0;
  return {
    loads: timetable.loads.filter((load) => load.orders.length > 0).length,
    short: part("short"),
    late: part("late"),
    moved: changes.counts.moved,
    breaches: breaches.length,
    total: timetable.cost.total + movesCost,
  };
}

/** Documents that a thread sees for the first time, or that it has had before, but for what happened: so a server's threads get them. */
type Seen = "never" | "before";

/**
 * The first conflict-free repair in a warm thread, in milliseconds: building the problem; placing what can stay and what must go elsewhere; writing the
 * timetable, verifying it and listing what changed.
 */
function firstMs(day: DayDocuments, seen: Seen, now: () => number): { pose: number; place: number; rest: number } {
  const times = { pose: [] as number[], place: [] as number[], rest: [] as number[] };
  for (let i = 0; i < WARM + TIMED; i++) {
    const fresh = seen === "never" ? structuredClone(day) : { ...day, happenings: structuredClone(day.happenings) };
    const started = now();
    const { problem } = poseRepair(fresh, lp);
    const posed = now();
    const draft = new Draft(problem.model, createRng(1));
    placeWaiting(draft, settle(draft));
    const placed = now();
    const timetable = emitTimetable(problem, copyPlan(draft.state), { seed: 1, iterations: 0 });
    const [breach] = verify(fresh, timetable);
    if (breach) throw new Error(`a first repair breaks ${breach.rule} ${breach.code}: ${breach.message}`);
    changesOf(fresh, fresh.inForce!, timetable);
    if (i < WARM) continue;
    times.pose.push(posed - started);
    times.place.push(placed - posed);
    times.rest.push(now() - placed);
  }
  return { pose: median(times.pose), place: median(times.place), rest: median(times.rest) };
}

function taskOf(day: DayDocuments, seconds: number, lane: number, options: RepairBenchOptions): RepairTask {
  const { seed, clock, lanes } = options;
  return { day, seconds, seed: seed + lane, clock, threads: lanes };
}

function meanText(times: readonly number[]): string {
  const mean = times.reduce((sum, time) => sum + time, 0) / times.length;
  return `mean ${mean.toFixed(0)}, greatest ${Math.max(...times).toFixed(0)}`;
}

/** Repairs the same mornings with short budgets and a long one, and compares. */
export async function benchRepair(options: RepairBenchOptions): Promise<number> {
  let worst = 0;
  const now = clockOf(options.clock, 1);
  const exactly = clockOf(options.clock, 1, 0);
  const threads = await Threads.start<RepairTask, RepairResult>(new URL("./solve.js", import.meta.url), options.lanes);
  const how = options.lanes === 1 ? "one thread" : `${options.lanes} threads`;
  process.stdout.write(`${secondsText(options.clock)}; ${how}; ${loadText()}\n`);
  for (const size of options.sizes) {
    const day = await dayOf(size, options.seed);
    const iterations = TRIES_PER_LOAD * (size || 91);
    const { timetable: inForce } = draw(day, { iterations, seed: options.seed, now, lp });
    process.stderr.write(
      `${size || "demo"}: in force after ${iterations} tries, cost ${inForce.cost.total}, ${inForce.loads.length} loads; ${loadText()}\n`,
    );
    const rows: (string | number)[][] = [];
    const ratios: number[] = [];
    const firsts = { never: [] as number[], before: [] as number[] };
    const summed = new Map<number, { lost: number; worse: number }>();
    const mornings = scenarios(day, inForce, options);
    // As with first repairs: the product's threads have the search compiled, and 0.3 s are little more than that takes.
    for (const { day: first } of mornings.slice(0, WARM_REPAIRS))
      await threads.run((lane) => taskOf(first, 1, lane, options));
    for (const scenario of mornings) {
      const first = firstMs(scenario.day, "never", exactly);
      const again = firstMs(scenario.day, "before", exactly);
      firsts.never.push(first.pose + first.place + first.rest);
      firsts.before.push(again.pose + again.place + again.rest);
      const run = async (seconds: number) => {
        const runs = await threads.run((lane) => taskOf(scenario.day, seconds, lane, options));
        return runs.map(measure).reduce((a, b) => (b.total < a.total ? b : a));
      };
      const short: ReturnType<typeof measure>[] = [];
      for (const seconds of options.seconds) short.push(await run(seconds));
      const long = await run(options.long);
      worst = Math.max(worst, ...short.map((one) => one.breaches), long.breaches);
      const cells = short.flatMap((one) => [`${one.loads - long.loads}`, one.moved, (one.late + one.short).toFixed(1)]);
      rows.push([
        scenario.name,
        first.pose.toFixed(0),
        first.place.toFixed(0),
        first.rest.toFixed(0),
        again.pose.toFixed(0),
        again.place.toFixed(0),
        again.rest.toFixed(0),
        ...cells,
        long.moved,
        (long.late + long.short).toFixed(1),
      ]);
      short.forEach((one, i) => {
        const sum = summed.get(options.seconds[i]!) ?? { lost: 0, worse: 0 };
        if (one.loads < long.loads) sum.lost++;
        if (one.late + one.short > long.late + long.short + 0.5) sum.worse++;
        summed.set(options.seconds[i]!, sum);
      });
      const last = short[short.length - 1]!;
      if (last.late + last.short <= long.late + long.short + 0.5 && long.moved > 0)
        ratios.push(last.moved / long.moved);
      process.stderr.write(`  ${scenario.name}; ${loadText()}\n`);
    }
    const header = [
      "morning",
      "pose ms",
      "place ms",
      "rest ms",
      "again: pose",
      "place",
      "rest",
      ...options.seconds.flatMap((seconds) => [`${seconds} s: loads`, "moved", "late+short"]),
      `${options.long} s: moved`,
      "late+short",
    ];
    process.stdout.write(`\n${size || "demo"} loads\n${table(header, rows)}\n`);
    for (const [seen, times] of Object.entries(firsts))
      process.stdout.write(
        `first repair of documents seen ${seen}: ${meanText(times)} ms (${times.length} mornings)\n`,
      );
    for (const [seconds, { lost, worse }] of summed)
      process.stdout.write(
        `${seconds} s: fewer loads kept than in ${options.long} s on ${lost} of ${rows.length} mornings; dearer late and short pieces on ${worse}\n`,
      );
    if (ratios.length > 0)
      process.stdout.write(
        `moved tasks at equal lateness, ${options.seconds[options.seconds.length - 1]} s against ${options.long} s: median ${median(ratios).toFixed(2)}, greatest ${Math.max(...ratios).toFixed(2)} (${ratios.length} mornings)\n`,
      );
  }
  await threads.end();
  return worst > 0 ? 1 : 0;
}
