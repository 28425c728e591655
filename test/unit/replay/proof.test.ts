import { expect, it } from "vitest";
import { draw } from "../../../solver/index.js";
import { planGraph } from "../../../solver/replay/graph.js";
import { leastProofMinutes } from "../../../solver/trade/proof.js";
import { randomDay } from "../../days/random-day.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();

it("a late proof is not cut below what the warmth of its proofer asks for (D4)", () => {
  let proofs = 0;
  for (let seed = 1; seed <= 60; seed++) {
    const day = randomDay(seed, "tiny");
    const { timetable } = draw(day, { iterations: 12, seed: 1, now: () => 0, lp });
    for (const { task, least } of planGraph(day, timetable).nodes) {
      if (task.does !== "proof") continue;
      const load = timetable.loads.find(({ id }) => id === task.load)!;
      const product = day.catalogue.products.find(({ id }) => id === load.product)!;
      const step = product.routes.find(({ id }) => id === load.route)!.steps.find(({ does }) => does === "proof")!;
      const site = day.network.sites.find(({ id }) => id === task.site)!;
      const proofer = site.proofers.find(({ id }) => `${site.id}/${id}` === task.places?.[0]?.unit);
      if (!proofer || !("typicalMinutes" in step)) continue;
      expect(least, `${seed} ${task.id}`).toBeGreaterThanOrEqual(
        leastProofMinutes(step as Parameters<typeof leastProofMinutes>[0], site.roomTempC, proofer.tempC),
      );
      proofs++;
    }
  }
  expect(proofs).toBeGreaterThan(20);
}, 60_000);
