import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Happening, Load } from "../../../schemas/index.js";
import { repair } from "../../../solver/index.js";
import { type CarriedMorning, carriedMorning } from "../../support/carried.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();
let morning: CarriedMorning;
beforeAll(async () => {
  morning = await carriedMorning();
}, 300_000);

function loadsOf(day: DayDocuments): readonly Load[] {
  const { timetable, breaches, changes } = repair(day, { iterations: 10, seed: 1, now: () => 0, lp, onlyOne: true });
  expect(breaches).toEqual([]);
  const { loads } = timetable;
  // The list of changes says it in the same words.
  for (const { load, why } of changes.scrapped) expect(loads.find(({ id }) => id === load)!.scrapped!.why).toBe(why);
  return loads;
}

const whyOf = (loads: readonly Load[], load: string): string => loads.find(({ id }) => id === load)!.scrapped!.why;

/** The morning with more units out of service from the instant on. */
function without(units: readonly string[]): DayDocuments {
  const { day } = morning;
  const down = units.map((unit): Happening => ({ kind: "out-of-service", unit, from: day.happenings.at! }));
  return { ...day, happenings: { ...day.happenings, happenings: [...day.happenings.happenings, ...down] } };
}

describe("a load that has begun and cannot go on says why it is thrown away", { timeout: 120_000 }, () => {
  it("when no other deck can finish its bake", () => {
    const [cut] = morning.bake;
    const site = morning.day.network.sites.find(({ id }) => id === cut.site)!;
    const decks = site.ovens.flatMap(({ id, decks }) => decks.map((deck) => `${site.id}/${id}/${deck.id}`));
    const loads = loadsOf(without(decks.filter((deck) => deck !== cut.unit)));
    expect(whyOf(loads, cut.load!)).toMatch(
      /^weir-yard\/.* failed during its bake, and no other deck at the temperature has room/,
    );
  });

  it("when there is nowhere to carry it", () => {
    const [stay] = morning.stay;
    const site = morning.day.network.sites.find(({ id }) => id === stay.site)!;
    const loads = loadsOf(without(site.fridges.map(({ id }) => `${site.id}/${id}`)));
    // Others have stood long enough to be shaped at once.
    expect(loads.flatMap(({ scrapped }) => scrapped?.why ?? []).join("\n")).toMatch(
      /walk-in\/.* fails under what stands there, and there is no room for it elsewhere/,
    );
  });

  it("when it has been out of the cold for too long", () => {
    const { before, day } = morning;
    const out = before.tasks.find(({ does, start }) => does === "proof" && start > "2026-11-27T03")!;
    const load = before.loads.find(({ id }) => id === out.load)!;
    const { dough } = day.catalogue.products.find(({ id }) => id === load.product)!;
    const limited = day.catalogue.doughs.map((one) =>
      one.id === dough ? { ...one, holdingLimit: { warmMinutes: 5, label: "Plan of the site" } } : one,
    );
    const at = out.start.replace(/:\d\d(Z|[+-]\d\d:\d\d)$/, ":00$1");
    const loads = loadsOf({
      ...day,
      inForce: before,
      catalogue: { ...day.catalogue, doughs: limited },
      happenings: { format: "happenings/1", at, happenings: [{ kind: "running", task: out.id, until: out.end }] },
    });
    expect(loads.flatMap(({ scrapped }) => scrapped?.why ?? []).join("\n")).toMatch(
      /Out of the cold since \d\d:\d\d, it can be baked \d+ min after that at the earliest, at most 5 are allowed \(Plan of the site: 5 min warm/,
    );
  });
});
