import { describe, expect, it } from "vitest";
import type { DayDocuments } from "../../schemas/index.js";
import { draw, repair } from "../../solver/index.js";
import { verify } from "../../solver/verify/index.js";
import { randomDay } from "../days/random-day.js";
import { randomMorning } from "../days/random-morning.js";
import { loadLp } from "../support/lp.js";

const LONG = process.env.DECKSHELF_LONG === "1";
const DAYS = LONG ? 400 : 12;
const MORNINGS = 5;
const lp = await loadLp();

/** What a repair gives, but for how long it took. */
function mended(day: DayDocuments, seed: number): string {
  const { timetable, changes, breaches, movesCost } = repair(day, { iterations: 12, seed, now: () => 0, lp });
  return JSON.stringify([timetable, changes, breaches, movesCost, verify(day, day.inForce!)]);
}

describe("a day that was repaired before", () => {
  it("is repaired as one whose documents are read anew, whatever happened in between", { timeout: 3_600_000 }, () => {
    for (let seed = 700; seed < 700 + DAYS; seed++) {
      const day = randomDay(seed, "small");
      const inForce = draw(day, { iterations: 20, seed, now: () => 0, lp }).timetable;
      const mornings = Array.from({ length: MORNINGS }, (_, m) => randomMorning(day, inForce, seed * 100 + m));
      // The network and catalogue are the same objects in all of them: chains and tables of the first are taken over.
      const seen = mornings.map((morning) => mended(morning, seed));
      const fresh = mornings.map((morning) => mended(structuredClone(morning), seed));
      expect(seen, `seed ${seed}`).toEqual(fresh);
      // The same again, when others have been in between, and with other weights.
      expect(mended(mornings[0]!, seed)).toBe(fresh[0]);
      const { settings } = day;
      const weights = { ...settings.weights, latePerPieceHour: 3 };
      const dear = { ...mornings[0]!, settings: { ...settings, weights } };
      expect(mended(dear, seed)).toBe(mended(structuredClone(dear), seed));
    }
  });
});
