import { expect, it } from "vitest";
import type { DayDocuments, OrderLine, Product } from "../../../schemas/index.js";
import { readDayFolder } from "../../../services/day-folder.js";
import { pose } from "../../../solver/pose.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();
const read = await readDayFolder("services/demo/ordinary-day");
if ("issues" in read) throw new Error(JSON.stringify(read.issues));
const demo = read.day;

/** Two lines of the demo's tin dough: one retarded overnight, one of the same night. */
function twoOfOneDough(): DayDocuments {
  const known = demo.catalogue.products.find(({ id }) => id === "tin-loaf")!;
  const tin: Product = { ...known, routes: known.routes.filter(({ id }) => id === "tubs") };
  const sameNight: Product = {
    ...tin,
    id: "same-night-tin",
    routes: tin.routes.map((route) => ({
      ...route,
      handOvers: ["baked"],
      steps: route.steps.flatMap((step) => {
        if (step.does === "retard") return [{ does: "rest" as const, leastMinutes: 20, greatestMinutes: 60 }];
        if (step.does === "cool") return [{ does: "cool" as const, leastMinutes: 60, greatestMinutes: 90 }];
        return step.does === "temper" ? [] : [step];
      }),
    })),
  };
  const line = (id: string, product: string): OrderLine => {
    return { id, product, pieces: 24, site: "weir-yard", due: "2026-11-27T08:00", freshWithinMinutes: 300 };
  };
  return {
    ...demo,
    catalogue: { ...demo.catalogue, products: [tin, sameNight] },
    orders: { format: "orders/1", lines: [line("overnight", "tin-loaf"), line("same-night", "same-night-tin")] },
  };
}

it("dough for a long retard and for bread of the same night is mixed twice, though one bowl takes it", () => {
  const { batches } = pose(twoOfOneDough(), lp);
  const products = batches.map(({ loads }) => [...new Set(loads.map(({ product }) => product))]);
  expect(products.sort()).toEqual([["same-night-tin"], ["tin-loaf"]]);
}, 60_000);
