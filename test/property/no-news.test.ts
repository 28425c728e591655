import { describe, expect, it } from "vitest";
import type { DayDocuments, Happening, Timetable } from "../../schemas/index.js";
import { checkDay } from "../../solver/check/index.js";
import { draw, drift, repair } from "../../solver/index.js";
import { createRng } from "../../solver/rng.js";
import { randomDay } from "../days/random-day.js";
import { randomMorning } from "../days/random-morning.js";
import { loadLp } from "../support/lp.js";

/** A repair is put in force and what was told stays in the day: at later instants, without more news, nothing is to be done. */
const LONG = process.env.DECKSHELF_LONG === "1";
const FIRST = Number(process.env.DECKSHELF_SEED ?? (LONG ? 90_000 : 3_000));
const DAYS = Number(process.env.DECKSHELF_DAYS ?? (LONG ? 1_500 : 45));
const MORNINGS = 6;
const KINDS: ReadonlySet<string> = new Set([
  "started",
  "finished",
  "running",
  "not-started",
  "short-batch",
  "pieces-lost",
  "spoiled",
  "order-added",
  "order-changed",
  "order-cancelled",
  "van-late",
]);
const lp = await loadLp();
const instant = (ms: number): string => new Date(ms).toISOString().replace(/:\d\d\.\d\d\dZ$/, ":00Z");

/** The batch that a happening is about, if it is about one. */
function batchOf(happening: Happening, inForce: Timetable): string | undefined {
  const named = happening as { task?: string; load?: string; batch?: string };
  const task = inForce.tasks.find(({ id }) => id === named.task);
  const load = inForce.loads.find(({ id }) => id === (named.load ?? task?.load));
  return named.batch ?? task?.batch ?? load?.batch;
}

const OF_DOUGH: ReadonlySet<string> = new Set(["spoiled", "short-batch", "pieces-lost"]);

/**
 * At most one report of each batch, so that none contradict each other, and losses of dough that was mixed before: of other dough it would be lost
 * later.
 */
function morningOf(day: DayDocuments, inForce: Timetable, seed: number): DayDocuments {
  const morning = randomMorning(day, inForce, seed, 6);
  const { at, happenings } = morning.happenings;
  const reported = new Set<string>();
  const told = happenings.filter((one) => {
    if (!KINDS.has(one.kind)) return false;
    const batch = batchOf(one, inForce);
    if (batch === undefined) return true;
    const mix = inForce.tasks.find((task) => task.does === "mix" && task.batch === batch);
    const isMixed = mix !== undefined && Date.parse(mix.end) < Date.parse(at!) && !reported.has(`${mix.id} mix`);
    if (OF_DOUGH.has(one.kind)) return isMixed;
    if (reported.has(batch)) return false;
    reported.add(batch);
    if ("task" in one && one.task === mix?.id) reported.add(`${mix!.id} mix`);
    return true;
  });
  const sound = told.filter((one) => !OF_DOUGH.has(one.kind) || !reported.has(`${batchOf(one, inForce)}-mix mix`));
  return { ...morning, happenings: { format: "happenings/1", at: at!, happenings: sound } };
}

describe("a repair in force", () => {
  it("is right at later instants too, without more news", { timeout: 3_600_000 }, () => {
    let rounds = 0;
    let repaired = 0;
    const kinds = new Set<string>();
    for (let seed = FIRST; seed < FIRST + DAYS; seed++) {
      const { inForce: _, ...drawn } = randomDay(seed, "tiny");
      const day: DayDocuments = { ...drawn, happenings: { format: "happenings/1", happenings: [] } };
      const inForce = draw(day, { iterations: 20, seed, now: () => 0, lp }).timetable;
      if (inForce.tasks.length < 4) continue;
      for (let m = 0; m < MORNINGS; m++) {
        const key = seed * 100 + m;
        const rng = createRng(key);
        const morning = morningOf(day, inForce, key);
        const { at: first, happenings } = morning.happenings;
        if (happenings.length === 0 || checkDay(morning).length > 0) continue;
        const run = (one: DayDocuments): Timetable => {
          const { timetable, breaches } = repair(one, { iterations: 8, seed: m, now: () => 0, lp, onlyOne: true });
          expect(breaches, `${key} ${JSON.stringify(one.happenings)}`).toEqual([]);
          return timetable;
        };
        const table = run(morning);
        if (table !== inForce) repaired++;
        for (const { kind } of happenings) kinds.add(kind);
        let atMs = Date.parse(first!);
        for (const minutes of [0, 1 + rng.below(30), 1 + rng.below(240)]) {
          atMs = Math.min(Date.parse(inForce.window.to), atMs + 60_000 * minutes);
          const again = { ...morning, inForce: table, happenings: { ...morning.happenings, at: instant(atMs) } };
          if (checkDay(again).length > 0) continue;
          const what = `${key} ${instant(atMs)} ${JSON.stringify(morning.happenings)}`;
          expect(drift(again).reasons, what).toEqual([]);
          expect(run(again), what).toBe(table);
          rounds++;
        }
      }
    }
    expect(rounds).toBeGreaterThan(5 * DAYS);
    expect(repaired).toBeGreaterThan(2 * DAYS);
    if (DAYS >= 40) expect(kinds).toEqual(KINDS);
  });
});
