import { describe, expect, it } from "vitest";
import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { validateDocument } from "../../schemas/validate.js";
import { checkDay } from "../../solver/check/index.js";
import { draw, type RepairResult, repair } from "../../solver/index.js";
import { changesOf } from "../../solver/repair/changes.js";
import { createRng } from "../../solver/rng.js";
import { randomDay } from "../days/random-day.js";
import { randomMorning } from "../days/random-morning.js";
import { loadLp } from "../support/lp.js";

const LONG = process.env.DECKSHELF_LONG === "1";
const FIRST = Number(process.env.DECKSHELF_SEED ?? (LONG ? 50_000 : 1));
const DAYS = Number(process.env.DECKSHELF_DAYS ?? (LONG ? 2_500 : 16));
const MORNINGS = 4;
const lp = await loadLp();

function mended(day: DayDocuments, seed: number, iterations = 12): Timetable {
  const { timetable, breaches } = repair(day, { iterations, seed, now: () => 0, lp });
  expect(breaches, `seed ${seed} ${JSON.stringify(day.happenings)}`).toEqual([]);
  return timetable;
}

/** A morning on which only this happens: a unit with work ahead is out of service for some hours, from the instant or a little later on. */
function outageMorning(day: DayDocuments, inForce: Timetable, key: number): DayDocuments | null {
  const rng = createRng(key);
  const worked = inForce.tasks.filter((task) => task.unit !== undefined && task.does !== "clean");
  if (worked.length === 0) return null;
  const task = worked[rng.below(worked.length)]!;
  const instant = (ms: number): string => new Date(ms).toISOString().replace(/:\d\d\.\d\d\dZ$/, ":00Z");
  const from = Math.max(Date.parse(inForce.window.from), Date.parse(task.start) - 60_000 * rng.below(60));
  const at = Math.max(Date.parse(inForce.window.from), from - 60_000 * rng.below(40));
  const out = { kind: "out-of-service" as const, unit: task.unit!, from: instant(from) };
  const told = { ...out, to: instant(from + 60_000 * (60 + rng.below(240))) };
  const happenings = [...day.happenings.happenings.filter(({ kind }) => kind !== "lock"), told];
  return { ...day, inForce, happenings: { format: "happenings/1", at: instant(at), happenings } };
}

/** A morning up to which stations marked nearly everything, in a hurry: work begun or done sooner or later than planned, marks missing, one of two forgotten. */
function markedMorning(day: DayDocuments, inForce: Timetable, key: number): DayDocuments {
  const rng = createRng(key);
  const from = Date.parse(inForce.window.from);
  const atMs = from + (Date.parse(inForce.window.to) - from) * (0.25 + 0.5 * rng.unit());
  const happenings = [...day.happenings.happenings.filter(({ kind }) => kind !== "lock")];
  const instant = (ms: number): string => new Date(ms).toISOString().replace(/:\d\d\.\d\d\dZ$/, ":00Z");
  const told = (plannedMs: number): number => {
    const ms = plannedMs + 60_000 * (rng.below(4) === 0 ? rng.below(25) - 12 : rng.below(5) - 2);
    return Math.min(Math.max(ms, from), atMs);
  };
  for (const task of inForce.tasks) {
    if (Date.parse(task.start) >= atMs || rng.below(8) === 0) continue;
    const start = told(Date.parse(task.start));
    if (rng.below(2) === 0) happenings.push({ kind: "started", task: task.id, at: instant(start) });
    if (Date.parse(task.end) < atMs && rng.below(2) === 0)
      happenings.push({ kind: "finished", task: task.id, at: instant(Math.max(start, told(Date.parse(task.end)))) });
  }
  return { ...day, inForce, happenings: { format: "happenings/1", at: instant(atMs), happenings } };
}

const seen = { same: 0, scrapped: 0, moved: 0, split: 0, carried: 0, kinds: new Set<string>(), mornings: 0 };

describe("repairs on random mornings", () => {
  it("keep every rule, what has begun, and their input; without news nothing changes", { timeout: 3_600_000 }, () => {
    for (let seed = FIRST; seed < FIRST + DAYS; seed++) {
      const day = randomDay(seed, "small");
      const inForce = draw(day, { iterations: 20, seed, now: () => 0, lp }).timetable;
      for (let m = 0; m < MORNINGS; m++) {
        const key = seed * 100 + m;
        const morning = randomMorning(day, inForce, key);
        expect(checkDay(morning), `seed ${key}`).toEqual([]);
        const quiet = { ...morning, happenings: { ...morning.happenings, happenings: day.happenings.happenings } };
        expect(mended(quiet, key), `seed ${key}`).toBe(inForce);
        const before = JSON.stringify(morning);
        const table = mended(morning, key);
        expect(JSON.stringify(morning)).toBe(before);
        expect(validateDocument("timetable", table), `seed ${key}`).toEqual([]);
        // The same told again: nothing more to do.
        const again = { ...morning, inForce: table };
        if (checkDay(again).length === 0) expect(mended(again, key), `seed ${key} again`).toBe(table);
        seen.mornings++;
        if (table === inForce) seen.same++;
        seen.scrapped += table.loads.filter((load) => load.scrapped).length;
        seen.moved += changesOf(morning, inForce, table).counts.moved;
        seen.split += table.tasks.filter(({ id, does }) => does === "bake" && id.endsWith("-2")).length;
        seen.carried += table.tasks.filter(({ id }) => id.endsWith("-carried")).length;
        for (const { kind } of morning.happenings.happenings) seen.kinds.add(kind);
      }
    }
  });

  it("stand on what stations marked in a hurry, whatever rules those facts break among themselves", {
    timeout: 3_600_000,
  }, () => {
    let marks = 0;
    let mornings = 0;
    for (let seed = FIRST + 900; seed < FIRST + 900 + 2 * DAYS; seed++) {
      const day = randomDay(seed, "small");
      const inForce = draw(day, { iterations: 20, seed, now: () => 0, lp }).timetable;
      for (let m = 0; m < MORNINGS; m++) {
        const morning = markedMorning(day, inForce, seed * 100 + m);
        if (checkDay(morning).length > 0) continue;
        mended(morning, seed * 100 + m);
        marks += morning.happenings.happenings.length;
        mornings++;
      }
    }
    expect(mornings).toBeGreaterThan(DAYS);
    expect(marks).toBeGreaterThan(5 * mornings);
  });

  /**
   * The search has its luck: a course of few tries may find less on the easier morning. So the morning without the outage is searched from the plan that was
   * found with it, which is a plan of that morning too; what is found must then cost no more, but for the search's whole thousandths (half a unit of money and
   * 1 % are allowed). From the old plan, with luck, only the sums over all mornings are compared, with 2 % to spare.
   */
  it("do no worse without an outage than with it", { timeout: 3_600_000 }, () => {
    let compared = 0;
    let better = 0;
    const sums = { with: 0, without: 0 };
    for (let seed = FIRST + 500; seed < FIRST + 500 + Math.ceil(DAYS / 2); seed++) {
      const day = randomDay(seed, "small");
      const inForce = draw(day, { iterations: 20, seed, now: () => 0, lp }).timetable;
      for (let m = 0; m < 3; m++) {
        const told = outageMorning(day, inForce, seed * 100 + m);
        if (!told || checkDay(told).length > 0) continue;
        const quiet = { ...told, happenings: { ...told.happenings, happenings: day.happenings.happenings } };
        const total = (found: RepairResult): number => found.timetable.cost.total + found.movesCost;
        const run = (one: DayDocuments): RepairResult => {
          const found = repair(one, { iterations: 24, seed: m, now: () => 0, lp, onlyOne: true });
          expect(found.breaches, `seed ${seed} ${m}`).toEqual([]);
          return found;
        };
        const hindered = run(told);
        if (hindered.timetable === inForce) continue;
        const onward = { ...quiet, inForce: hindered.timetable };
        if (checkDay(onward).length > 0) continue;
        const least = hindered.timetable.cost.total;
        const freed = total(run(onward));
        expect(freed, `seed ${seed} ${m} ${JSON.stringify(told.happenings)}`).toBeLessThanOrEqual(least * 1.01 + 0.5);
        compared++;
        if (freed < least - 0.5) better++;
        sums.with += total(hindered);
        sums.without += total(run(quiet));
      }
    }
    expect(compared).toBeGreaterThan(DAYS / 4);
    // Some outages hurt, or nothing would have been tested.
    expect(better).toBeGreaterThan(0);
    expect(sums.without).toBeLessThanOrEqual(sums.with * 1.02);
  });

  it("what is thrown away leaves its place at once, though it was to be carried away later", () => {
    const { inForce: _, ...raw } = randomDay(34, "tiny");
    const day = { ...raw, happenings: { ...raw.happenings, happenings: [] } };
    const inForce = draw(day, { iterations: 20, seed: 1, now: () => 0, lp }).timetable;
    const morning = randomMorning(day, inForce, 345, 4);
    const happenings = morning.happenings.happenings.map((one) =>
      one.kind === "smaller" ? { ...one, positions: 1 } : one,
    );
    expect(happenings.some(({ kind }) => kind === "smaller")).toBe(true);
    const table = mended({ ...morning, happenings: { ...morning.happenings, happenings } }, 1, 20);
    expect(table.loads.some(({ scrapped }) => scrapped !== undefined)).toBe(true);
  });

  it("and the mornings had everything in them", () => {
    expect(seen.mornings).toBe(DAYS * MORNINGS);
    expect(seen.same).toBeGreaterThan(seen.mornings / 20);
    expect(seen.same).toBeLessThan(seen.mornings * 0.8);
    expect(seen.scrapped).toBeGreaterThan(seen.mornings / 40);
    expect(seen.moved).toBeGreaterThan(seen.mornings / 2);
    if (DAYS < 40) return;
    expect(seen.carried).toBeGreaterThan(0);
    expect(seen.kinds.size).toBeGreaterThanOrEqual(14);
  });
});
