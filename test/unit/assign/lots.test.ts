import { expect, it } from "vitest";
import { readDayFolder } from "../../../services/day-folder.js";
import { pose } from "../../../solver/pose.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();

it("a line that is to be made at a shop of small decks comes in loads that they take, though it is mixed where decks are large", async () => {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  const { day } = read;
  const sites = day.network.sites.map((site) =>
    site.id === "quay-shop"
      ? {
          ...site,
          // A deck for one pan.
          ovens: site.ovens.map((oven) => ({
            ...oven,
            decks: oven.decks.map((deck) => ({ ...deck, widthMm: 1250, depthMm: 520 })),
          })),
        }
      : site,
  );
  const lines = day.orders.lines.map((line) => (line.id === "line-038" ? { ...line, madeAt: "quay-shop" } : line));
  const small = { ...day, network: { ...day.network, sites }, orders: { ...day.orders, lines } };
  const problem = pose(small, lp);
  const serves = ({ portions }: { portions: readonly { want: { line: { id: string } } }[] }): boolean =>
    portions.some(({ want }) => want.line.id === "line-038");
  expect(problem.unmakeable.filter(serves)).toEqual([]);
  const loads = problem.loads.filter(serves);
  expect(loads.length).toBeGreaterThan(1);
  for (const { pans } of loads) expect(pans).toBe(1);
}, 60_000);
