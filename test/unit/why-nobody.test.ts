import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Site } from "../../schemas/index.js";
import { readDayFolder } from "../../services/day-folder.js";
import { checkDay } from "../../solver/check/index.js";
import { draw } from "../../solver/index.js";
import { loadLp } from "../support/lp.js";

const lp = await loadLp();
let day: DayDocuments;

beforeAll(async () => {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  day = read.day;
});

/** The day with sites changed, and only the orders of one product for one site. */
function withSites(product: string, site: string, change: (site: Site) => Site): DayDocuments {
  const lines = day.orders.lines.filter((line) => line.product === product && line.site === site);
  expect(lines.length).toBeGreaterThan(0);
  const network = { ...day.network, sites: day.network.sites.map(change) };
  return { ...day, network, orders: { ...day.orders, lines } };
}

/** What the check says, and why the order is short when it is drawn up all the same. */
function told(of: DayDocuments): { checked: string[]; reasons: string[] } {
  const { timetable } = draw(of, { iterations: 10, seed: 1, now: () => 0, lp });
  return {
    checked: checkDay(of).flatMap(({ code, message }) =>
      code === "no-site-can-make" || code === "made-at-cannot" ? [message] : [],
    ),
    reasons: [...new Set(timetable.orders.flatMap(({ why }) => why?.text ?? []))],
  };
}

const NO_VAN = "no van run from there to Weir Yard commissary";
const OTHERS = `Quay shop: ${NO_VAN}. Bridge shop: ${NO_VAN}.`;

describe("an order that nobody can make says why, site by site", { timeout: 60_000 }, () => {
  const AT_YARD: readonly (readonly [string, (site: Site) => Site, string])[] = [
    ["no kettle", (site) => ({ ...site, kettles: [] }), "no kettle"],
    ["no mixer", (site) => ({ ...site, mixers: [] }), "no mixer"],
    [
      "mixers for soft doughs only",
      (site) => ({
        ...site,
        mixers: site.mixers.map((mixer) => ({ ...mixer, limits: [{ fromAbsorptionPercent: 60, maxDoughG: 50_000 }] })),
      }),
      "no mixer for so stiff a dough (54 % absorption)",
    ],
    [
      "small mixers",
      (site) => ({
        ...site,
        mixers: site.mixers.map((mixer) => ({
          ...mixer,
          limits: [{ fromAbsorptionPercent: 0, maxDoughG: 9000 }],
          minDoughG: 12_000,
        })),
      }),
      "no mixer large enough for a batch (12 kg at least, 9 kg at most at 54 % absorption)",
    ],
    [
      "low decks",
      (site) => ({
        ...site,
        ovens: site.ovens.map((oven) => ({
          ...oven,
          decks: oven.decks.map((deck) => ({ ...deck, clearHeightMm: 20 })),
        })),
      }),
      "no deck of 245 C that takes the pan Full sheet pan 660 x 457 (660 x 457 mm, 40 mm high)",
    ],
    [
      "cool decks",
      (site) => ({
        ...site,
        ovens: site.ovens.map((oven) => ({ ...oven, decks: oven.decks.map((deck) => ({ ...deck, maxTempC: 220 })) })),
      }),
      "no deck that reaches 245 C (the hottest 220 C)",
    ],
  ];

  it.each(AT_YARD)("%s", (_name, change, words) => {
    const { checked, reasons } = told(withSites("plain-ring", "weir-yard", change));
    expect(checked).toEqual([
      `Nobody can make Plain ring for Weir Yard commissary. Weir Yard commissary: ${words}. ${OTHERS}`,
    ]);
    expect(reasons).toEqual([`Nobody can make it. Weir Yard commissary: ${words}. ${OTHERS}`]);
  });

  it("of two ways that lack as much the one that is all there, and who mixes for another", () => {
    const { checked } = told(withSites("plain-ring", "bridge-shop", (site) => ({ ...site, kettles: [] })));
    expect(checked).toEqual([
      "Nobody can make Plain ring for Bridge shop. Weir Yard commissary: no kettle. Quay shop: no van run from there to Bridge shop. Bridge shop: no kettle.",
    ]);
  });

  it("also what the check cannot see: not enough places at once, no van in the window", () => {
    const racks = withSites("plain-ring", "weir-yard", (site) => ({
      ...site,
      racks: site.racks.map((rack) => ({ ...rack, positions: 1 })),
    }));
    const small = told(racks);
    expect(small.checked).toEqual([]);
    expect(small.reasons.length).toBeGreaterThan(0);
    for (const text of small.reasons)
      expect(text).toMatch(
        /^Nobody can make it. Weir Yard commissary: no rack for [2-9] pans at once. Quay shop: no van/,
      );

    const quay = withSites("plain-ring", "quay-shop", (site) => site);
    const vanRuns = quay.network.vanRuns.map((run) => ({ ...run, days: ["mon" as const] }));
    const never = told({ ...quay, network: { ...quay.network, vanRuns } });
    expect(never.checked).toEqual([]);
    expect(never.reasons).toEqual([
      "Nobody can make it. Weir Yard commissary: no van leaves there for Quay shop in the window, as cold as its routes want it. Quay shop: no mixer, no kettle. Bridge shop: no van run from there to Quay shop.",
    ]);
  });

  it("an order that is fixed to a site is asked of that one", () => {
    const fixed = withSites("plain-ring", "weir-yard", (site) => ({ ...site, kettles: [] }));
    const lines = fixed.orders.lines.map((line) => ({ ...line, madeAt: "weir-yard" }));
    const { checked } = told({ ...fixed, orders: { ...fixed.orders, lines } });
    expect(checked).toEqual([
      "Weir Yard commissary cannot make Plain ring for Weir Yard commissary. Weir Yard commissary: no kettle.",
    ]);
    const far = lines.map((line) => ({ ...line, madeAt: "quay-shop" }));
    expect(told({ ...fixed, orders: { ...fixed.orders, lines: far } }).checked).toEqual([
      `Quay shop cannot make Plain ring for Weir Yard commissary. Quay shop: ${NO_VAN}.`,
    ]);
  });

  it("of very many sites the first, within what a timetable has room for", () => {
    const many = withSites("plain-ring", "weir-yard", (site) => ({ ...site, kettles: [] }));
    const shop = many.network.sites[1]!;
    const sites = [
      ...many.network.sites,
      ...Array.from({ length: 30 }, (_, i) => ({ ...shop, id: `shop-${i}`, name: `Shop number ${i}` })),
    ];
    const { reasons } = told({ ...many, network: { ...many.network, sites } });
    expect(reasons).toHaveLength(1);
    expect(reasons[0]!.length).toBeLessThanOrEqual(500);
    const shown = reasons[0]!.match(/: no /g)!.length;
    expect(reasons[0]).toContain(`And ${33 - shown} more.`);
  });
});
