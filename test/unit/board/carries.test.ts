import { beforeAll, describe, expect, it } from "vitest";
import { carriesOf, spotOf } from "../../../services/board/logic/carries.js";
import { changesBetween } from "../../../services/board/logic/changes.js";
import { type Plan, readPlan } from "../../../services/board/logic/plan.js";
import { type CarriedMorning, carriedMorning } from "../../support/carried.js";

let morning: CarriedMorning;
let before: Plan;
let after: Plan;
beforeAll(async () => {
  morning = await carriedMorning();
  before = readPlan(morning.day, morning.before);
  after = readPlan(morning.day, morning.after);
}, 300_000);

describe("what is carried off a place that fails", { timeout: 60_000 }, () => {
  it("is among the changes that a planner accepts, each as one thing to do", () => {
    const { loads } = changesBetween(before, after);
    for (const [first, rest] of [morning.bake, morning.stay]) {
      const load = loads.find(({ id }) => id === rest.load)!;
      expect(load, rest.id).toBeDefined();
      expect(load.firstMs).toBe(Date.parse(first.end));
      expect(load.tasks.filter(({ carry }) => carry)).toMatchObject([
        { before: { id: first.id }, after: { id: rest.id }, carry: { isHot: rest.does === "bake" } },
      ]);
    }
    // Once it is so, it is nothing new.
    expect(changesBetween(after, after).loads).toEqual([]);
  });

  it("knows from where to where, and what is left", () => {
    const [cut, rest] = morning.bake;
    const carry = carriesOf(after).get(cut.id)!;
    expect(carriesOf(after).get(rest.id)).toBe(carry);
    expect(carry.leftMinutes).toBe((Date.parse(rest.end) - Date.parse(rest.start)) / 60_000);
    expect(spotOf(after, carry.rest)).toMatch(/, deck \d$/);
    const stay = carriesOf(after).get(morning.stay[0].id)!;
    for (const task of [stay.first, stay.rest]) expect(spotOf(after, task)).toMatch(/, shelf \d+, positions? \d/);
    expect(spotOf(after, stay.first)).not.toBe(spotOf(after, stay.rest));
  });

  it("what is thrown away is among the changes, and said to be", () => {
    const thrown = morning.after.loads.filter(({ scrapped }) => scrapped).map(({ id }) => id);
    expect(thrown.length).toBeGreaterThan(0);
    const { loads } = changesBetween(before, after);
    expect(new Set(loads.filter(({ kind }) => kind === "scrapped").map(({ id }) => id))).toEqual(new Set(thrown));
  });
});
