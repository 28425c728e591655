import { expect, it } from "vitest";
import type { Comparison, Scenario } from "../../../schemas/index.js";
import { compare } from "../../../services/operations/compare.js";
import type { RunContext } from "../../../services/operations/operation.js";
import { comparisonText } from "../../../services/text/comparison.js";
import { randomDay } from "../../days/random-day.js";
import { loadLp } from "../../support/lp.js";

const context: RunContext = {
  now: () => 0,
  lp: await loadLp(),
  onProgress: () => undefined,
  shouldStop: () => false,
};

it("a scenario that does not apply is named with the reason; the others are drawn up, in one lane or in several", async () => {
  const day = randomDay(3, "tiny");
  const site = day.network.sites[0]!.id;
  const named = (name: string, change: object): Scenario =>
    ({ format: "scenario/1", name, changes: [change] }) as unknown as Scenario;
  const scenarios = [
    named("no such fridge", { kind: "rent-fridge", site, like: "cellar", shelves: 4 }),
    named("more tubs", { kind: "more-tubs", site, tubType: "tub", count: 3 }),
  ];
  const request = { scenarios, iterations: 5 };
  const whole = (await compare.run(day, request, context)) as { comparison: Comparison };
  expect(whole.comparison.sides.map(({ name }) => name)).toEqual(["as it is", "more tubs"]);
  expect(whole.comparison.leftOut).toEqual([
    { scenario: 1, name: "no such fridge", why: expect.stringMatching(/"cellar" is not at .*\/changes\/0\/like/) },
  ]);
  const parts = compare.split!(day, request, 3);
  const lanes = await Promise.all(parts.map((part) => compare.run(day, part, context)));
  expect(compare.gather!(day, request, lanes)).toEqual(whole);
  expect(comparisonText(day, whole.comparison)).toMatch(/no such fridge: left out, it does not apply\./);
});
