import { Ajv2020 } from "ajv/dist/2020.js";
import { describe, expect, it } from "vitest";
import * as documents from "../../schemas/documents.js";
import type { DayChange, DayDocuments } from "../../schemas/index.js";
import { headroom, multiplied } from "../../solver/headroom/index.js";
import { tryDay } from "../../solver/headroom/trial.js";
import { boundMultiple, Disprover } from "../../solver/network/multiple.js";
import { indexDay } from "../../solver/problem/day-index.js";
import { remedies } from "../../solver/remedies/index.js";
import { changed } from "../../solver/scenario/index.js";
import { verify } from "../../solver/verify/index.js";
import { randomDay } from "../days/random-day.js";
import { loadLp } from "../support/lp.js";

const LONG = process.env.DECKSHELF_LONG === "1";
const DAYS = LONG ? 1500 : 30;
const FIRST_SEED = LONG ? Number(process.env.DECKSHELF_SEED ?? 700_000) : 1;
/** Tries of a search that is to contradict a proof. */
const TRIES = LONG ? 1500 : 80;
const lp = await loadLp();
const MOST = 4;

/** A clock that goes on by itself: what a budget in seconds cuts short is the same each time. */
function ticking(stepMs: number): () => number {
  let ms = 0;
  return () => {
    ms += stepMs;
    return ms;
  };
}

function days(): { seed: number; day: DayDocuments }[] {
  return Array.from({ length: DAYS }, (_, i) => ({
    seed: FIRST_SEED + i,
    day: randomDay(FIRST_SEED + i, i % 3 === 0 ? "tiny" : "small"),
  })).filter(({ day }) => day.orders.lines.length > 0);
}

const ajv = new Ajv2020({ strict: false });
for (const schema of Object.values(documents)) ajv.addSchema(schema);

describe("headroom on random days", () => {
  it("what certainly does not fit is never found by a search, and what is found fits", { timeout: 3_600_000 }, () => {
    let disproved = 0;
    let found = 0;
    for (const { seed, day } of days()) {
      const { multiple } = boundMultiple(indexDay(day), { lp, most: MOST, precision: 0.02 });
      const tries = (times: number, trySeed: number) =>
        tryDay(multiplied(day, undefined, times), { lp, now: () => 0, seed: trySeed, iterations: TRIES });
      if (multiple < MOST && multiple > 0) {
        disproved++;
        for (const trySeed of [seed, seed + 1])
          expect(tries(multiple * 1.001 + 1e-6, trySeed).trial.fits, `seed ${seed}: above x ${multiple}`).toBe(false);
      }
      const times = Math.min(1, multiple * 0.5);
      if (times <= 0) continue;
      const { trial, timetable } = tries(times, seed);
      if (!trial.fits) continue;
      found++;
      expect(times, `seed ${seed}`).toBeLessThanOrEqual(multiple);
      expect(verify(multiplied(day, undefined, times), timetable), `seed ${seed}`).toEqual([]);
      expect(timetable.orders.every(({ state }) => state === "on-time")).toBe(true);
    }
    expect(disproved).toBeGreaterThan(DAYS / 3);
    expect(found).toBeGreaterThan(DAYS / 5);
  });

  /** The bound is a program's optimum: with more of anything its rows only loosen. A fiftieth is left for rows not yet found. */
  it("more of anything never lowers what may fit", { timeout: 3_600_000 }, () => {
    let compared = 0;
    for (const { seed, day } of days().slice(0, DAYS / 2)) {
      const greatest = (own: DayDocuments): number => new Disprover(indexDay(own), { lp, most: MOST }).greatest();
      const before = greatest(day);
      if (before >= MOST) continue;
      const [site] = day.network.sites;
      const more: DayChange[] = [
        { kind: "more-pans", site: site!.id, panType: "sheet", count: 5 },
        { kind: "more-tubs", site: site!.id, tubType: "tub", count: 3 },
        { kind: "another-unit", like: `${site!.id}/oven-1/deck-1` },
        { kind: "another-unit", like: `${site!.id}/bench-1` },
        { kind: "rent-fridge", site: site!.id, like: "fridge-1", shelves: 2 },
        { kind: "more-people", site: site!.id, crew: "night", from: "00:00", to: "12:00", heads: 1 },
      ];
      for (const change of more) {
        compared++;
        expect(greatest(changed(day, [change])), `seed ${seed} ${change.kind}`).toBeGreaterThanOrEqual(
          before * 0.98 - 1e-6,
        );
      }
    }
    expect(compared).toBeGreaterThan(10);
  });

  it("answers with a document of its schema, and proves no less than it says", { timeout: 600_000 }, () => {
    const valid = ajv.getSchema("headroom.schema.json")!;
    for (const seed of [2, 5, 9, 14]) {
      const day = randomDay(seed, "small");
      if (day.orders.lines.length === 0) continue;
      const found = headroom(day, { to: 3, seconds: 4 }, { lp, now: ticking(3) });
      expect(valid(found), JSON.stringify(valid.errors)).toBe(true);
      if (found.fitsAt !== undefined) {
        expect(found.fitsAt).toBeLessThanOrEqual(found.certainlyNotAbove + 1e-9);
        expect(verify(multiplied(day, undefined, found.fitsAt), found.timetable!)).toEqual([]);
      }
      expect(found.verdict === "fits").toBe((found.fitsAt ?? 0) >= 1);
      expect(found.verdict === "does-not-fit").toBe((found.fitsAt ?? 0) < 1 && found.certainlyNotAbove < 1);
      for (const trial of found.trials)
        if (trial.fits) expect(trial.multiple).toBeLessThanOrEqual(found.certainlyNotAbove + 1e-9);
    }
  });

  it("of days that cannot fit more is found by whoever settles for less", { timeout: 600_000 }, () => {
    // Those of the first forty on which the two differ: four find more, two less.
    let wantingAll = 0;
    let settling = 0;
    for (const seed of [1, 5, 11, 14, 20, 37]) {
      const day = multiplied(randomDay(seed, "small"), undefined, 4);
      const how = { lp, now: () => 0, seed, iterations: 800 };
      wantingAll += tryDay(day, how).trial.piecesOnTime;
      settling += tryDay(day, { ...how, settlesForLess: true }).trial.piecesOnTime;
    }
    expect(settling).toBeGreaterThan(wantingAll);
  });

  it("remedies are drawn up, ranked, and none that a proof rules out is said to do", { timeout: 600_000 }, () => {
    const valid = ajv.getSchema("headroom.schema.json#/$defs/RemedyReport")!;
    let tried = 0;
    for (const seed of [3, 7, 11]) {
      const day = randomDay(seed, "small");
      if (day.orders.lines.length === 0) continue;
      const report = remedies(day, { multiple: 2, seconds: 6 }, { lp, now: ticking(3) });
      expect(valid(report), JSON.stringify(valid.errors)).toBe(true);
      tried += report.tried.length;
      for (const remedy of report.tried) {
        expect(remedy.fits).toBe(remedy.trial.fits);
        if (remedy.fits) expect(remedy.atLeastShort).toBe(0);
        expect(remedy.trial.pieces - remedy.trial.piecesOnTime).toBeGreaterThanOrEqual(remedy.atLeastShort);
      }
      const fits = report.tried.map(({ fits: own }) => own);
      expect(fits).toEqual([...fits].sort((a, b) => Number(b) - Number(a)));
    }
    expect(tried).toBeGreaterThan(0);
  });
});
