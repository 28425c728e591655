import { beforeAll, describe, expect, it } from "vitest";
import { asMarked } from "../../../services/board/logic/as-marked.js";
import { carriesOf, spotOf } from "../../../services/board/logic/carries.js";
import { changesBetween } from "../../../services/board/logic/changes.js";
import { instantText, MINUTE } from "../../../services/board/logic/clock.js";
import { fridgeAt, ovenAt, Stays } from "../../../services/board/logic/instant.js";
import { cardsOf, outOfOrderAt } from "../../../services/board/logic/kitchen.js";
import { statesOf } from "../../../services/board/logic/kitchen-board.js";
import { outageText } from "../../../services/board/logic/outages.js";
import { type Plan, readPlan } from "../../../services/board/logic/plan.js";
import { stationsOf } from "../../../services/board/logic/stations.js";
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
    expect(spotOf(after, carry.to)).toMatch(/, deck \d$/);
    const stay = carriesOf(after).get(morning.stay[0].id)!;
    for (const task of [stay.from, stay.to]) expect(spotOf(after, task)).toMatch(/, shelf \d+, positions? \d/);
    expect(spotOf(after, stay.from)).not.toBe(spotOf(after, stay.to));
  });

  it("what is thrown away is among the changes, and said to be", () => {
    const thrown = morning.after.loads.filter(({ scrapped }) => scrapped).map(({ id }) => id);
    expect(thrown.length).toBeGreaterThan(0);
    const { loads } = changesBetween(before, after);
    expect(new Set(loads.filter(({ kind }) => kind === "scrapped").map(({ id }) => id))).toEqual(new Set(thrown));
  });

  const stationOf = (unit: string) =>
    after.day.network.sites.flatMap(stationsOf).find(({ id }) => unit.startsWith(`${id}/`))!;

  it("is one card on the kitchen screens: nothing is started on the deck that is out", () => {
    const [cut, rest] = morning.bake;
    for (const unit of [cut.unit!, rest.unit!]) {
      const cards = cardsOf(after, stationOf(unit));
      expect(cards.some((card) => card.task === cut.id)).toBe(false);
      const own = cards.filter((card) => card.task === rest.id);
      expect(own).toMatchObject([{ verb: "Carry", fromMs: Date.parse(cut.end), cautions: ["hot-decks"] }]);
      expect(own[0]!.where).toMatch(/^from .*deck \d to .*deck \d, positions? \d/);
      expect(own[0]!.details).toContain(rest.load);
      expect(own[0]!.details[0]).toMatch(/^half-baked, \d+ min more$/);
      // Carried late, it is done late.
      const startMs = Date.parse(rest.start) + 5 * MINUTE;
      const marks = [{ what: "started" as const, task: rest.id, at: instantText("UTC", startMs) }];
      const begun = asMarked(after, cards, marks, statesOf(marks)).find((card) => card.task === rest.id)!;
      expect(begun).toMatchObject({ verb: "Bake", toMs: Date.parse(rest.end) + 5 * MINUTE });
    }
  });

  it("a tub is carried, and taken out from where it was carried to", () => {
    const [first, rest] = morning.stay;
    const cards = cardsOf(after, stationOf(rest.places![0]!.unit));
    expect(cards.some((card) => card.task === first.id || card.outOf === first.id)).toBe(false);
    const own = cards.filter((card) => card.task === rest.id || card.outOf === rest.id);
    expect(own).toMatchObject([
      { verb: "Carry", fromMs: Date.parse(rest.start) },
      { verb: "Take out", fromMs: Date.parse(rest.end) },
    ]);
  });

  it("what is out of order says so, on its screen and where decks and shelves are drawn", () => {
    const nowMs = Date.parse(morning.bake[0].end) + MINUTE;
    const cut = morning.bake[0].unit!;
    const outages = outOfOrderAt(after, stationOf(cut), [], nowMs);
    expect(outages).toMatchObject([{ unit: cut, isOpen: true }]);
    const zone = "Europe/Dublin";
    expect(outageText(zone, outages[0]!, nowMs)).toBe("out of order until further notice");
    const until = { ...outages[0]!, isOpen: false, toMs: Date.parse("2026-11-27T07:30Z") };
    expect(outageText(zone, until, nowMs)).toBe("out of order until 07:30");
    expect(outageText(zone, { ...until, fromMs: Date.parse("2026-11-27T06:10Z") }, nowMs)).toBe(
      "out of order from 06:10 until 07:30",
    );
    // Marked at a station, not worked in yet.
    const more = [{ kind: "out-of-service" as const, unit: stationOf(cut).id, from: "2026-11-27T03:00:00+00:00" }];
    expect(outOfOrderAt(after, stationOf(cut), more, nowMs).map(({ unit }) => unit)).toContain(stationOf(cut).id);
    const stays = new Stays(after);
    const site = after.day.network.sites[0]!;
    const decks = site.ovens.flatMap((oven) => ovenAt(stays, site.id, oven, nowMs));
    const shelves = site.fridges.flatMap((fridge) => fridgeAt(stays, site.id, fridge, nowMs));
    const out = [...decks, ...shelves].filter(({ outage }) => outage).map(({ unit }) => unit);
    expect(out.sort()).toEqual([cut, morning.stay[0].places![0]!.unit].sort());
  });
});
