import { beforeAll, describe, expect, it, vi } from "vitest";
import type { DayDocuments } from "../../schemas/index.js";
import { readDayFolder } from "../../services/day-folder.js";
import { draw, pose } from "../../solver/index.js";
import { loadLp } from "../support/lp.js";
import { withFewLines } from "../support/small-day.js";

/** Stopping is heard while a day is posed, not only once its search goes on: a slip of some noughts takes seconds to pose. */

const lp = await loadLp();
let day: DayDocuments;

beforeAll(async () => {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  day = withFewLines(read.day);
});

/** Says stop from the so-manieth time on that it is asked. */
function stopAt(time: number): () => boolean {
  let asked = 0;
  return () => ++asked >= time;
}

describe("stopped while it is posed", () => {
  it("a day is posed as far as it came", () => {
    const whole = pose(day, lp).loads.length;
    expect(pose(day, lp, undefined, stopAt(1)).loads).toEqual([]);
    const parts = Array.from({ length: 20 }, (_, i) => pose(day, lp, undefined, stopAt(i + 2)).loads.length);
    expect(parts).toEqual([...parts].sort((a, b) => a - b));
    expect(parts.some((part) => part > 0 && part < whole)).toBe(true);
  });

  it.each([1, 2, 4, 12, 20])("at question %i the timetable is sound and says that it was stopped", (time) => {
    const budget = { iterations: 5, seed: 1, now: () => 0, lp, shouldStop: stopAt(time) };
    // What bounds a part of a day would pass for a bound of all of it.
    const bound = vi.fn(() => () => 1e9);
    const { timetable, breaches } = draw(day, { ...budget, bound });
    expect(bound).not.toHaveBeenCalled();
    expect(timetable.bound).toBeUndefined();
    expect(breaches).toEqual([]);
    expect(timetable.status).toBe("cancelled");
    const wanting = timetable.orders.filter(({ state }) => state !== "on-time");
    expect(wanting.map(({ why }) => why?.code)).toEqual(wanting.map(() => "stopped"));
    if (time === 1) expect(wanting.length).toBe(day.orders.lines.length);
  });
});
