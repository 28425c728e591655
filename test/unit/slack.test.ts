import { describe, expect, it } from "vitest";
import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { readDayFolder } from "../../services/day-folder.js";
import { draw, replay } from "../../solver/index.js";
import { randomDay } from "../days/random-day.js";
import { loadLp } from "../support/lp.js";

const lp = await loadLp();
const ITERATIONS = 500;
const SLACK_MINUTES = 6;

function drawn(day: DayDocuments, slackMinutes: number, iterations: number): Timetable {
  const wished = { ...day, settings: { ...day.settings, slackMinutes } };
  const { timetable, breaches } = draw(wished, { iterations, seed: 1, now: () => 0, lp });
  expect(breaches).toEqual([]);
  return timetable;
}

/** Minutes from the end of each load that rides baked to the loading of its van. */
function slackBeforeVans(table: Timetable): number[] {
  return table.loads.flatMap((load) => {
    if (load.handOver !== "baked") return [];
    const own = table.tasks.filter((task) => task.load === load.id);
    const van = own.find(({ does }) => does === "van")!;
    const ends = own.filter((task) => task !== van).map(({ end }) => Date.parse(end));
    return [(Date.parse(van.start) - Math.max(...ends)) / 60_000];
  });
}

function meanOnTime(day: DayDocuments, table: Timetable): number {
  const { orders } = replay(day, table, { runs: 200, seed: 1 });
  return orders.reduce((sum, { onTime }) => sum + onTime, 0) / orders.length;
}

describe("slack", { timeout: 200_000 }, () => {
  it("makes the demo surer when it is played, and suggests itself", async () => {
    const read = await readDayFolder("services/demo/ordinary-day");
    if ("issues" in read) throw new Error(JSON.stringify(read.issues));
    const plain = drawn(read.day, 0, ITERATIONS);
    const slack = drawn(read.day, SLACK_MINUTES, ITERATIONS);
    expect(Math.min(...slackBeforeVans(plain))).toBeLessThan(SLACK_MINUTES);
    const short = slackBeforeVans(slack).filter((minutes) => minutes < SLACK_MINUTES).length;
    expect(short).toBeLessThanOrEqual(2);
    expect(meanOnTime(read.day, slack)).toBeGreaterThan(meanOnTime(read.day, plain) + 0.03);
    expect(replay(read.day, plain, { runs: 200, seed: 1 }).suggestedSlackMinutes).toBeGreaterThan(0);
  });

  it("breaks no rule on random days, and none changes nothing", () => {
    for (let seed = 1; seed <= 6; seed++) {
      const day = randomDay(seed, "small");
      expect(drawn(day, 0, 20)).toEqual(draw(day, { iterations: 20, seed: 1, now: () => 0, lp }).timetable);
      drawn(day, 10, 20);
    }
  });
});
