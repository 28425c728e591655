import { expect, it } from "vitest";
import { readDayFolder } from "../../../services/day-folder.js";
import { draw } from "../../../solver/index.js";
import { sheetsOf } from "../../../solver/sheets/index.js";
import { loadLp } from "../../support/lp.js";

it("a tub's label says the same latest time in a second fridge as in the first: the first counts", async () => {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  const { network, catalogue, orders } = read.day;
  const fermenting = new Set(catalogue.doughs.flatMap(({ id, ferment }) => (ferment ? [id] : [])));
  const products = new Set(catalogue.products.flatMap(({ id, dough }) => (fermenting.has(dough) ? [id] : [])));
  const lines = orders.lines
    .filter(({ product, site }) => products.has(product) && site === "bridge-shop")
    .slice(0, 4)
    .map((line) => ({ ...line, madeAt: "bridge-shop" }));
  const day = {
    ...read.day,
    orders: { ...orders, lines },
    // Only the cold van, and a fridge at the shop that is much warmer.
    network: {
      ...network,
      vanRuns: network.vanRuns.filter(({ id }) => id === "bridge-cold"),
      sites: network.sites.map((site) =>
        site.id === "bridge-shop"
          ? { ...site, mixers: [], fridges: site.fridges.map((fridge) => ({ ...fridge, airTempC: 5 })) }
          : site,
      ),
    },
  };
  const { timetable, breaches } = draw(day, { iterations: 40, seed: 1, now: () => 0, lp: await loadLp() });
  expect(breaches).toEqual([]);
  const tubs = timetable.loads.filter(({ handOver }) => handOver === "tubs").flatMap((load) => load.tubs);
  expect(tubs.length).toBeGreaterThan(0);
  const labels = sheetsOf(day, timetable)
    .filter(({ kind }) => kind === "labels")
    .flatMap(({ tables }) => tables.flatMap(({ rows }) => rows));
  for (const { id } of tubs) {
    const latest = labels.filter(({ item }) => item === id).map((row) => Date.parse(row.latest as string));
    expect(latest.length, id).toBe(2);
    expect(latest[1], id).toBe(latest[0]);
  }
}, 60_000);
