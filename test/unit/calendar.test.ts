import { describe, expect, it } from "vitest";
import type { CrewGroup, Weekday } from "../../schemas/index.js";
import {
  crewCapacity,
  departures,
  formatInstant,
  isTimeZone,
  localParts,
  parseInstant,
  resolveWhen,
  weeklySpans,
} from "../../solver/calendar.js";
import { instantSeconds, midnights, wallAt, wallSpan, whenMinute } from "../../solver/verify/time.js";

/** Source of the rules: the IANA time zone database as shipped with Node's ICU, read a second way by Intl (solver/verify/time.ts). */

const ALL: Weekday[] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
const ZONES = [
  "Europe/Dublin",
  "America/New_York",
  "Australia/Lord_Howe",
  "Asia/Kolkata",
  "America/Santiago",
  "Pacific/Apia",
];

function minute(instant: string): number {
  return Date.parse(instant) / 60_000;
}

describe("wall-clock times", { timeout: 60_000 }, () => {
  it.each([
    ["2026-03-29T01:30", "Europe/Dublin", "skipped"],
    ["2026-10-25T01:30", "Europe/Dublin", "ambiguous"],
    ["2026-03-08T02:30", "America/New_York", "skipped"],
    ["2026-11-01T01:30", "America/New_York", "ambiguous"],
    ["2026-10-04T02:15", "Australia/Lord_Howe", "skipped"],
    ["2026-04-05T01:45", "Australia/Lord_Howe", "ambiguous"],
    ["2026-02-30T06:00", "Europe/Dublin", "malformed"],
    ["2026-11-27T06:00:30", "Europe/Dublin", "malformed"],
    ["6 o'clock", "Europe/Dublin", "malformed"],
  ])("%s in %s is %s", (when, zone, problem) => {
    expect(resolveWhen(when, zone)).toEqual({ problem });
  });

  it("with an offset are instants in any zone", () => {
    expect(resolveWhen("2026-10-25T01:30+01:00", "Europe/Dublin")).toEqual({ minute: minute("2026-10-25T00:30Z") });
    expect(resolveWhen("2026-10-25T01:30Z", "Asia/Kolkata")).toEqual({ minute: minute("2026-10-25T01:30Z") });
  });

  it("agree with Intl on every quarter of an hour of a year, in six zones", { timeout: 60_000 }, () => {
    for (const zone of ZONES) {
      for (let t = minute("2026-01-01T00:00Z"); t < minute("2027-01-01T00:00Z"); t += 375) {
        const text = formatInstant(t, zone);
        expect(instantSeconds(text)).toBe(t * 60);
        expect(parseInstant(text)).toBe(t * 60);
        const local = text.slice(0, 16);
        const { date, time } = localParts(t, zone);
        expect(`${date}T${time}`).toBe(local);
        const resolved = resolveWhen(local, zone);
        if ("minute" in resolved) {
          expect(resolved.minute).toBe(t);
          expect(whenMinute(local, zone)).toBe(t);
        } else expect(resolved.problem).toBe("ambiguous");
      }
    }
  });

  it("know time zones", () => {
    expect(isTimeZone("Europe/Dublin")).toBe(true);
    expect(isTimeZone("Europe/Atlantis")).toBe(false);
    expect(isTimeZone("+01:00")).toBe(false);
  });
});

describe("weekly patterns", () => {
  const night = { days: ALL, from: "22:00", to: "06:00" };
  const lengthOn = (zone: string, date: string): number => {
    const from = minute(`${date}T12:00Z`);
    const spans = weeklySpans(night, zone, { fromMinute: from, toMinute: from + 24 * 60 });
    return Math.max(...spans.map((span) => span.toMinute - span.fromMinute));
  };

  it("a night shift is an hour shorter or longer when the clocks change", () => {
    expect(lengthOn("Europe/Dublin", "2026-11-26")).toBe(480);
    const from = minute("2026-03-28T12:00Z");
    const spring = weeklySpans(night, "Europe/Dublin", { fromMinute: from, toMinute: from + 720 + 300 });
    expect(
      spring.find((span) => span.fromMinute >= from)!.toMinute -
        spring.find((span) => span.fromMinute >= from)!.fromMinute,
    ).toBe(420);
    const autumn = minute("2026-10-24T12:00Z");
    const long = weeklySpans(night, "Europe/Dublin", { fromMinute: autumn, toMinute: autumn + 720 + 300 });
    expect(
      long.find((span) => span.fromMinute >= autumn)!.toMinute -
        long.find((span) => span.fromMinute >= autumn)!.fromMinute,
    ).toBe(540);
  });

  it("agree with the verifier's reading through every change of the year, skipped and repeated edges included", () => {
    for (const zone of ZONES) {
      for (const [from, to] of [
        ["22:00", "06:00"],
        ["01:30", "09:00"],
        ["02:15", "02:45"],
        ["12:00", "12:00"],
      ] as const) {
        const window = { fromMinute: minute("2026-01-05T00:00Z"), toMinute: minute("2026-12-20T00:00Z") };
        const own = weeklySpans({ days: ALL, from, to }, zone, window).map((span) => [span.fromMinute, span.toMinute]);
        const theirs = midnights(ALL, zone, window.fromMinute, window.toMinute)
          .map((midnight) => wallSpan(midnight, from, to, zone))
          .filter((span) => span.to > window.fromMinute && span.from < window.toMinute)
          .map((span) => [span.from, span.to]);
        expect(own).toEqual(theirs);
      }
    }
  });

  it("a van on a skipped time leaves when the clock has moved on; on a repeated one at the first", () => {
    const window = { fromMinute: minute("2026-03-28T12:00Z"), toMinute: minute("2026-03-29T12:00Z") };
    const skipped = departures({ days: ALL, departs: "01:30" }, "Europe/Dublin", window);
    expect(skipped).toEqual([{ minute: minute("2026-03-29T01:30Z"), date: "20260329" }]);
    const autumn = { fromMinute: minute("2026-10-24T12:00Z"), toMinute: minute("2026-10-25T12:00Z") };
    expect(departures({ days: ALL, departs: "01:30" }, "Europe/Dublin", autumn)).toEqual([
      { minute: minute("2026-10-25T00:30Z"), date: "20261025" },
    ]);
    const midnight = midnights(ALL, "Europe/Dublin", autumn.fromMinute, autumn.toMinute).find(
      (at) => at === minute("2026-10-25T00:00Z") * 60,
    )!;
    expect(wallAt(midnight, "01:30", "Europe/Dublin")).toBe(minute("2026-10-25T00:30Z"));
  });
});

describe("crew", () => {
  it("breaks, absences and overtime by minute, over midnight", () => {
    const group: CrewGroup = {
      id: "night",
      name: "Night",
      skills: ["bench"],
      shifts: [
        {
          days: ["thu"],
          from: "22:00",
          to: "06:00",
          heads: 3,
          breaks: [
            { from: "01:00", to: "01:30" },
            { from: "03:00", to: "03:15", heads: 1 },
          ],
        },
        { days: ["fri"], from: "06:00", to: "07:00", heads: 2, overtimeCostPerHour: 9 },
      ],
    };
    const window = { fromMinute: minute("2026-11-26T20:00Z"), toMinute: minute("2026-11-27T08:00Z") };
    const absence = { fromMinute: minute("2026-11-27T04:00Z"), toMinute: minute("2026-11-27T06:30Z"), heads: 1 };
    const { regular, overtime } = crewCapacity(group, "Europe/Dublin", [absence], window);
    const at = (time: string): number => minute(`2026-11-${time < "12:00" ? 27 : 26}T${time}Z`) - window.fromMinute;
    expect([
      regular[at("21:59")],
      regular[at("22:00")],
      regular[at("01:15")],
      regular[at("03:05")],
      regular[at("04:30")],
      regular[at("06:15")],
    ]).toEqual([0, 3, 0, 2, 2, 0]);
    expect([overtime[0]!.capacity[at("06:15")], overtime[0]!.capacity[at("06:45")], overtime[0]!.costPerHour]).toEqual([
      1, 2, 9,
    ]);
  });

  it("many shifts of many people are all counted", () => {
    const shift: CrewGroup["shifts"][number] = { days: ["thu"], from: "22:00", to: "23:00", heads: 1000 };
    const group: CrewGroup = { id: "all", name: "All", skills: ["bench"], shifts: new Array(40).fill(shift) };
    const from = minute("2026-11-26T12:00Z");
    const { regular } = crewCapacity(group, "Europe/Dublin", [], {
      fromMinute: from,
      toMinute: from + 1440,
    });
    expect(regular[minute("2026-11-26T22:30Z") - from]).toBe(40_000);
  });
});
