import { describe, expect, it } from "vitest";
import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { checkDay } from "../../solver/check/index.js";
import { draw, drift, repair } from "../../solver/index.js";
import { randomDay } from "../days/random-day.js";
import { randomMorning } from "../days/random-morning.js";
import { loadLp } from "../support/lp.js";

/** Days go on: what was told stays told, the repair is put in force, time passes, more is told. */
const LONG = process.env.DECKSHELF_LONG === "1";
const FIRST = Number(process.env.DECKSHELF_SEED ?? (LONG ? 700_000 : 1));
const DAYS = Number(process.env.DECKSHELF_DAYS ?? (LONG ? 4_000 : 60));
const ROUNDS = 4;
/** Days on which something went wrong once. */
const ONCE_WRONG = [1979, 703_881, 704_221, 704_518, 704_991, 900_599];
const lp = await loadLp();

function lostLoads({ loads }: Timetable): number {
  return loads.filter(({ scrapped }) => scrapped !== undefined).length;
}

function instant(ms: number): string {
  return new Date(ms).toISOString().replace(/\.\d+Z$/, "Z");
}

describe("mornings that go on", () => {
  it("are repaired round after round, whatever was told before", { timeout: 3_600_000 }, () => {
    let repairs = 0;
    let lost = 0;
    const seeds = [...ONCE_WRONG, ...Array.from({ length: DAYS }, (_, i) => FIRST + i)];
    for (const seed of seeds) {
      const { inForce: _, ...raw } = randomDay(seed, "tiny");
      const day: DayDocuments = { ...raw, happenings: { ...raw.happenings, happenings: [] } };
      const drawn = draw(day, { iterations: 30, seed: 1, now: () => 0, lp });
      expect(drawn.breaches, `seed ${seed}`).toEqual([]);
      if (drawn.timetable.tasks.length < 4) continue;
      let current: DayDocuments & { inForce: Timetable } = { ...day, inForce: drawn.timetable };
      let atMs = Number.NEGATIVE_INFINITY;
      for (let round = 0; round < ROUNDS; round++) {
        const drawnNews = randomMorning(current, current.inForce, seed * 10 + round, 2);
        // What becomes of a bake that is cut short is chosen once.
        const catalogue = round === 0 ? drawnNews.catalogue : current.catalogue;
        const at = Math.max(atMs, Date.parse(drawnNews.happenings.at!));
        const next = { ...drawnNews, catalogue, happenings: { ...drawnNews.happenings, at: instant(at) } };
        // News drawn by chance may contradict what was told before.
        if (checkDay(next).length > 0) continue;
        atMs = at;
        drift(next);
        const { timetable, breaches } = repair(next, { iterations: 25, seed: 1, now: () => 0, lp, onlyOne: true });
        expect(breaches, `seed ${seed} round ${round} ${JSON.stringify(next.happenings)}`).toEqual([]);
        const told = new Set(next.happenings.happenings.map(({ kind }) => kind));
        if (told.size === 1 && told.has("slower"))
          expect(lostLoads(timetable), `seed ${seed} round ${round}: slow throws nothing away`).toBe(0);
        repairs++;
        lost += lostLoads(timetable);
        current = { ...next, inForce: timetable };
      }
    }
    expect(repairs).toBeGreaterThan(2 * DAYS);
    expect(lost).toBeGreaterThan(0);
  });
});
