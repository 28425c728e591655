import { describe, expect, it } from "vitest";
import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { validateDocument } from "../../schemas/validate.js";
import { checkDay } from "../../solver/check/index.js";
import { draw, repair } from "../../solver/index.js";
import { randomDay } from "../days/random-day.js";
import { randomMorning } from "../days/random-morning.js";
import { loadLp } from "../support/lp.js";

const LONG = process.env.DECKSHELF_LONG === "1";
const FIRST = Number(process.env.DECKSHELF_SEED ?? (LONG ? 50_000 : 1));
const DAYS = Number(process.env.DECKSHELF_DAYS ?? (LONG ? 2_500 : 40));
const MORNINGS = 4;
const lp = await loadLp();

function mended(day: DayDocuments, seed: number, iterations = 12): Timetable {
  const { timetable, breaches } = repair(day, { iterations, seed, now: () => 0, lp });
  expect(breaches, `seed ${seed} ${JSON.stringify(day.happenings)}`).toEqual([]);
  return timetable;
}

const seen = { same: 0, scrapped: 0, kinds: new Set<string>(), mornings: 0 };

describe("repairs on random mornings", () => {
  it("keep every rule, what has begun, and their input", { timeout: 3_600_000 }, () => {
    for (let seed = FIRST; seed < FIRST + DAYS; seed++) {
      const day = randomDay(seed, "small");
      const inForce = draw(day, { iterations: 20, seed, now: () => 0, lp }).timetable;
      for (let m = 0; m < MORNINGS; m++) {
        const morning = randomMorning(day, inForce, seed * 100 + m);
        expect(checkDay(morning), `seed ${seed} ${m}`).toEqual([]);
        const before = JSON.stringify(morning);
        const table = mended(morning, seed * 100 + m);
        expect(JSON.stringify(morning)).toBe(before);
        expect(validateDocument("timetable", table), `seed ${seed} ${m}`).toEqual([]);
        seen.mornings++;
        if (table === inForce) seen.same++;
        seen.scrapped += table.loads.filter((load) => load.scrapped).length;
        for (const { kind } of morning.happenings.happenings) seen.kinds.add(kind);
      }
    }
  });
});
