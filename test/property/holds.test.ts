import { describe, expect, it } from "vitest";
import type { DayDocuments, Happening, Timetable } from "../../schemas/index.js";
import { checkDay } from "../../solver/check/index.js";
import { draw, type HoldResult, hold } from "../../solver/index.js";
import { createRng } from "../../solver/rng.js";
import { randomDay } from "../days/random-day.js";
import { randomMorning } from "../days/random-morning.js";
import { loadLp } from "../support/lp.js";

/** Any task is wished for at any time: it is there, or refused with a rule and times that do work. */
const LONG = process.env.DECKSHELF_LONG === "1";
const FIRST = Number(process.env.DECKSHELF_SEED ?? (LONG ? 60_000 : 1));
const DAYS = Number(process.env.DECKSHELF_DAYS ?? (LONG ? 2_000 : 60));
const MORNINGS = 4;
const MINUTES = [0, 1, -1, 5, 30, -30, 240, -600, 3000];
const lp = await loadLp();

type Wish = Extract<Happening, { kind: "hold" }>;

function held(day: DayDocuments, wish: Wish): HoldResult {
  const { happenings } = day;
  const at = happenings.at ?? day.settings.window.from;
  const told = { ...day, happenings: { ...happenings, at, happenings: [...happenings.happenings, wish] } };
  return hold(told, { iterations: 20, seed: 1, now: () => 0, lp, onlyOne: true, wished: new Set([wish.task]) });
}

const minuteOf = (instant: string): number => Math.floor(Date.parse(instant) / 60_000);

/** Is the task there as it was wished for, or is its load wanted by nobody any more? */
function isMet({ tasks }: Timetable, { task, start, unit }: Wish): boolean {
  const now = tasks.find(({ id }) => id === task);
  return !now || (minuteOf(now.start) === minuteOf(start) && (unit === undefined || now.unit === unit));
}

describe("wishes of the planner", () => {
  it("are met, or refused with times that work", { timeout: 3_600_000 }, () => {
    let met = 0;
    let refused = 0;
    let nearest = 0;
    for (let seed = FIRST; seed < FIRST + DAYS; seed++) {
      const rng = createRng(seed * 11 + 3);
      const { inForce: _, ...raw } = randomDay(seed, "tiny");
      const day: DayDocuments = { ...raw, happenings: { format: "happenings/1", happenings: [] } };
      const { timetable } = draw(day, { iterations: 20, seed: 1, now: () => 0, lp });
      if (timetable.tasks.length < 4) continue;
      const units = timetable.tasks.flatMap(({ unit }) => (unit === undefined ? [] : [unit]));
      for (let m = 0; m < MORNINGS; m++) {
        const base: DayDocuments =
          rng.below(2) === 0 ? randomMorning(day, timetable, seed * 10 + m, 2) : { ...day, inForce: timetable };
        const task = timetable.tasks[rng.below(timetable.tasks.length)]!;
        const minute = minuteOf(task.start) + MINUTES[rng.below(MINUTES.length)]!;
        const start = new Date(60_000 * minute).toISOString().replace(".000Z", "Z");
        const unit = rng.below(3) === 0 ? units[rng.below(units.length)] : undefined;
        const wish: Wish = { kind: "hold", task: task.id, start, ...(unit === undefined ? {} : { unit }) };
        if (checkDay(base).length > 0) continue;
        const what = `seed ${seed} morning ${m} ${JSON.stringify(wish)}`;
        const result = held(base, wish);
        if (!("refusals" in result)) {
          expect(result.breaches, what).toEqual([]);
          expect(isMet(result.timetable, wish), what).toBe(true);
          met++;
          continue;
        }
        refused++;
        const [refusal] = result.refusals;
        for (const time of refusal!.nearest) {
          const near = { ...wish, start: time };
          const again = held(base, near);
          if ("refusals" in again) throw new Error(`${what}: ${time} is refused, too: ${again.refusals[0]!.message}`);
          expect(again.breaches, `${what} at ${time}`).toEqual([]);
          expect(isMet(again.timetable, near), `${what} at ${time}`).toBe(true);
          nearest++;
        }
      }
    }
    expect(met).toBeGreaterThan(DAYS / 2);
    expect(refused).toBeGreaterThan(DAYS);
    expect(nearest).toBeGreaterThan(DAYS / 4);
  });
});
