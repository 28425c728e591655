import { describe, expect, it } from "vitest";
import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { validateDocument } from "../../schemas/validate.js";
import { checkDay } from "../../solver/check/index.js";
import { draw, repair } from "../../solver/index.js";
import { changesOf } from "../../solver/repair/changes.js";
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
