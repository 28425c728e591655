import { describe, expect, it } from "vitest";
import type { DayDocuments, Happening } from "../../schemas/index.js";
import { draw } from "../../solver/index.js";
import { createRng } from "../../solver/rng.js";
import { randomDay } from "../days/random-day.js";
import { loadLp } from "../support/lp.js";

const lp = await loadLp();
const MINUTE = 60_000;
const OUTAGES = 4;
const days = process.env.DECKSHELF_LONG === "1" ? 800 : 60;

/** A day on which every mixer, bench and kettle is cleaned between allergens, and is out again and again. */
function brokenDay(seed: number): DayDocuments {
  const day = randomDay(seed, "small");
  const rng = createRng(seed);
  const from = Date.parse(day.settings.window.from);
  const minutes = Math.floor((Date.parse(day.settings.window.to) - from) / MINUTE);
  const outages: Happening[] = [];
  const instant = (minute: number): string => `${new Date(from + minute * MINUTE).toISOString().slice(0, 16)}Z`;
  const broken = <T extends { id: string }>(site: string, units: readonly T[]): T[] =>
    units.map((unit) => {
      for (let i = 0; i < OUTAGES; i++) {
        const start = rng.below(minutes - 40);
        const end = start + 10 + rng.below(30);
        outages.push({ kind: "out-of-service", unit: `${site}/${unit.id}`, from: instant(start), to: instant(end) });
      }
      return { ...unit, cleaningMinutes: 15 + rng.below(20) };
    });
  const sites = day.network.sites.map((site) => ({
    ...site,
    mixers: broken(site.id, site.mixers),
    benches: broken(site.id, site.benches),
    kettles: broken(site.id, site.kettles),
  }));
  return {
    ...day,
    network: { ...day.network, sites },
    happenings: { ...day.happenings, happenings: [...day.happenings.happenings, ...outages] },
  };
}

describe("several outages of one unit", () => {
  it(`are all kept, and cleanings go around them, on ${days} random days`, { timeout: 600_000 }, () => {
    let cleanings = 0;
    for (let seed = 1; seed <= days; seed++) {
      const { timetable, breaches } = draw(brokenDay(seed), { iterations: 30, seed, now: () => 0, lp });
      expect(breaches, `seed ${seed}`).toEqual([]);
      cleanings += timetable.tasks.filter(({ does }) => does === "clean").length;
    }
    expect(cleanings).toBeGreaterThan(days / 2);
  });
});
