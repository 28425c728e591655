import { describe, expect, it } from "vitest";
import type { DayDocuments } from "../../schemas/index.js";
import { validateDocument } from "../../schemas/validate.js";
import { checkDay } from "../../solver/check/index.js";
import { draw, drift, repair } from "../../solver/index.js";
import { createRng, type Rng } from "../../solver/rng.js";
import { randomDay } from "../days/random-day.js";
import { randomMorning } from "../days/random-morning.js";
import { loadLp } from "../support/lp.js";

/** One number of the network, catalogue, orders or settings is changed while a timetable is in force, by as much as somebody might correct it. */
const LONG = process.env.DECKSHELF_LONG === "1";
const FIRST = Number(process.env.DECKSHELF_SEED ?? (LONG ? 500_000 : 1));
const DAYS = Number(process.env.DECKSHELF_DAYS ?? (LONG ? 1_000 : 60));
const MORNINGS = 4;
const FACTORS = [0.5, 0.8, 0.9, 0.95, 1.1, 1.2, 1.5, 2];
/** Days on which a repair was refused once. */
const ONCE_WRONG = [11, 83, 112, 159, 185, 244];
const lp = await loadLp();

/** A number somewhere in a document. */
interface Spot {
  readonly holder: Record<string, unknown>;
  readonly key: string;
}

function spotsIn(value: object): Spot[] {
  const holder = value as Record<string, unknown>;
  return Object.keys(holder).flatMap((key) => {
    const inside = holder[key];
    if (typeof inside === "number") return [{ holder, key }];
    return typeof inside === "object" && inside !== null ? spotsIn(inside) : [];
  });
}

function withOneChanged(day: DayDocuments, rng: Rng): DayDocuments {
  const changed = structuredClone(day);
  const { network, catalogue, orders, settings } = changed;
  const spots = spotsIn([catalogue, network, orders, settings][rng.below(4)]!);
  const spot = spots[rng.below(spots.length)];
  if (!spot) return changed;
  const was = spot.holder[spot.key] as number;
  const now = was * FACTORS[rng.below(FACTORS.length)]!;
  spot.holder[spot.key] = Number.isInteger(was) ? Math.round(now) : now;
  return { ...changed, inForce: day.inForce! };
}

describe("documents that are changed under a timetable in force", () => {
  it("are an issue, or the repair goes by them", { timeout: 3_600_000 }, () => {
    let repairs = 0;
    let issues = 0;
    const seeds = [...ONCE_WRONG, ...Array.from({ length: DAYS }, (_, i) => FIRST + i)];
    for (const seed of seeds) {
      const rng = createRng(seed * 17 + 3);
      const { inForce: _, ...raw } = randomDay(seed, "tiny");
      const day: DayDocuments = { ...raw, happenings: { ...raw.happenings, happenings: [] } };
      const { timetable } = draw(day, { iterations: 20, seed: 1, now: () => 0, lp });
      if (timetable.tasks.length < 4) continue;
      for (let m = 0; m < MORNINGS; m++) {
        const morning = withOneChanged(randomMorning(day, timetable, seed * 10 + m, 4), rng);
        const { network, catalogue, orders, settings } = morning;
        const wrong = [
          ...validateDocument("network", network),
          ...validateDocument("catalogue", catalogue),
          ...validateDocument("orders", orders),
          ...validateDocument("settings", settings),
        ];
        if (wrong.length > 0 || checkDay(morning).length > 0) {
          issues++;
          continue;
        }
        drift(morning);
        const result = repair(morning, { iterations: 20, seed: 1, now: () => 0, lp, onlyOne: true });
        expect(result.breaches, `seed ${seed} morning ${m}`).toEqual([]);
        expect(validateDocument("timetable", result.timetable)).toEqual([]);
        repairs++;
      }
    }
    expect(repairs).toBeGreaterThan(2 * DAYS);
    expect(issues).toBeGreaterThan(0);
  });
});
