import { expect, it } from "vitest";
import type { DayDocuments } from "../../../schemas/index.js";
import { createClock } from "../../../solver/emit/context.js";
import { heatPlan } from "../../../solver/emit/heat.js";
import { poseRepair } from "../../../solver/repair/pose.js";
import { demoInForce } from "../../support/demo-in-force.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();

it("an oven that is being heated when nothing is put in it any more is switched off at once", {
  timeout: 120_000,
}, async () => {
  const { day, inForce } = await demoInForce();
  let heating = 0;
  for (const { on } of inForce.ovenProgram) {
    const at = new Date(Date.parse(on[0]!.from) + 20 * 60_000).toISOString().replace(".000Z", "Z");
    const told: DayDocuments = { ...day, inForce, happenings: { format: "happenings/1", at, happenings: [] } };
    const { problem } = poseRepair(told, lp);
    const { ovenProgram, kettleProgram } = heatPlan(problem, [], createClock(problem));
    const ends = [...ovenProgram, ...kettleProgram].flatMap((program) => program.on.map(({ to }) => Date.parse(to)));
    heating += problem.begun!.alight.filter(({ minute }) => minute > problem.begun!.at).length;
    expect(ends.length).toBeGreaterThan(0);
    for (const end of ends) expect(end).toBe(Date.parse(at));
  }
  expect(heating).toBeGreaterThan(2);
});
