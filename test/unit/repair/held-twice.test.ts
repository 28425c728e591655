import { expect, it } from "vitest";
import type { DayDocuments, Happening } from "../../../schemas/index.js";
import { repair, verify } from "../../../solver/index.js";
import { demoInForce } from "../../support/demo-in-force.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();

it("of two wishes for one task the last counts", { timeout: 120_000 }, async () => {
  const { day, inForce } = await demoInForce();
  const at = "2026-11-27T02:00Z";
  const bakes = inForce.tasks.filter(({ does, start }) => does === "bake" && Date.parse(start) > Date.parse(at));
  const later = (start: string, minutes: number): string =>
    new Date(Date.parse(start) + 60_000 * minutes).toISOString().replace(".000Z", "Z");
  let met = 0;
  for (const bake of bakes.slice(-8)) {
    const holds = [30, 4].map(
      (minutes): Happening => ({ kind: "hold", task: bake.id, start: later(bake.start, minutes) }),
    );
    const told = (happenings: Happening[]): DayDocuments => ({
      ...day,
      inForce,
      happenings: { format: "happenings/1", at, happenings },
    });
    const options = { iterations: 40, seed: 1, now: () => 0, lp, onlyOne: true };
    const { timetable, breaches, changes } = repair(told(holds), options);
    expect(breaches).toEqual([]);
    // What else stands there may make a wish impossible.
    if (changes.givenUp !== undefined) continue;
    met++;
    const now = timetable.tasks.find(({ id }) => id === bake.id)!;
    expect(Date.parse(now.start)).toBe(Date.parse(later(bake.start, 4)));
    expect(verify(told([...holds].reverse()), timetable).map(({ code }) => code)).toEqual(["not-held"]);
  }
  expect(met).toBeGreaterThan(1);
});
