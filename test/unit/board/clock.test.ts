import { describe, expect, it } from "vitest";
import {
  clockChanges,
  clockFace,
  dayText,
  duration,
  HOUR,
  hhmm,
  instantsOf,
  instantText,
  MINUTE,
  nearestInstant,
  nights,
  offsetMs,
  ticks,
  wallText,
} from "../../../services/board/logic/clock.js";
import { localDays } from "../../../services/board/logic/days.js";

const at = Date.parse;

// Instants of changes are those of the IANA time zone database (tzdata), files europe, northamerica, australasia.
describe("local clocks", { timeout: 60_000 }, () => {
  it("reads the wall clock of a zone, whatever the machine's own zone", () => {
    expect(hhmm("Europe/Dublin", at("2026-07-01T03:10Z"))).toBe("04:10");
    expect(hhmm("Asia/Kathmandu", at("2026-07-01T00:00Z"))).toBe("05:45");
    expect(hhmm("America/St_Johns", at("2026-01-01T00:00Z"))).toBe("20:30");
    expect(dayText("Pacific/Auckland", at("2026-11-26T12:00Z"))).toBe("Fri 27 Nov");
    expect(wallText("America/New_York", at("2026-03-08T06:59Z"))).toBe("2026-03-08T01:59");
  });

  it("writes instants with the offset that holds then", () => {
    expect(instantText("Europe/Dublin", at("2026-10-25T00:30Z"))).toBe("2026-10-25T01:30:00+01:00");
    expect(instantText("Europe/Dublin", at("2026-10-25T01:30Z"))).toBe("2026-10-25T01:30:00+00:00");
    expect(instantText("America/St_Johns", at("2026-01-01T00:00Z"))).toBe("2025-12-31T20:30:00-03:30");
    for (const zone of ["Europe/Dublin", "America/St_Johns", "Australia/Lord_Howe"])
      for (let ms = at("2026-10-24T00:00Z"); ms < at("2026-10-26T00:00Z"); ms += 17 * MINUTE)
        expect(at(instantText(zone, ms))).toBe(ms);
  });

  it("knows when clocks change: one hour in Dublin, half an hour on Lord Howe", () => {
    expect(clockChanges("Europe/Dublin", at("2026-10-24T12:00Z"), at("2026-10-25T12:00Z"))).toEqual([
      { ms: at("2026-10-25T01:00Z"), minutes: -60 },
    ]);
    expect(clockChanges("America/New_York", at("2026-03-08T00:00Z"), at("2026-03-08T12:00Z"))).toEqual([
      { ms: at("2026-03-08T07:00Z"), minutes: 60 },
    ]);
    expect(clockChanges("Australia/Lord_Howe", at("2026-04-04T00:00Z"), at("2026-04-05T00:00Z"))).toEqual([
      { ms: at("2026-04-04T15:00Z"), minutes: -30 },
    ]);
    expect(clockChanges("Asia/Tokyo", at("2026-01-01T00:00Z"), at("2026-12-31T00:00Z"))).toEqual([]);
  });

  it("has two ticks for the hour that comes twice and none for the one that is skipped", () => {
    const back = ticks("Europe/Dublin", at("2026-10-24T22:00Z"), at("2026-10-25T03:00Z"), 60).map((tick) => tick.text);
    expect(back).toEqual(["23:00", "00:00", "01:00", "01:00", "02:00", "03:00"]);
    const forward = ticks("America/New_York", at("2026-03-08T05:00Z"), at("2026-03-08T09:00Z"), 60);
    expect(forward.map((tick) => tick.text)).toEqual(["00:00", "01:00", "03:00", "04:00", "05:00"]);
    expect(forward.filter((tick) => tick.isMidnight).length).toBe(1);
  });

  it("sets ticks by the local clock where offsets are not whole hours", () => {
    expect(
      ticks("Asia/Kathmandu", at("2026-07-01T00:00Z"), at("2026-07-01T02:00Z"), 60).map((tick) => tick.ms),
    ).toEqual([at("2026-07-01T00:15Z"), at("2026-07-01T01:15Z")]);
  });

  it("finds the instants of a typed time: one, none or two", () => {
    const from = at("2026-10-24T12:00Z");
    const to = at("2026-10-25T12:00Z");
    expect(instantsOf("Europe/Dublin", "01:30", from, to)).toEqual([at("2026-10-25T00:30Z"), at("2026-10-25T01:30Z")]);
    expect(instantsOf("Europe/Dublin", "0410", from, to)).toEqual([at("2026-10-25T04:10Z")]);
    expect(instantsOf("Europe/Dublin", "4.10", from, to)).toEqual([at("2026-10-25T04:10Z")]);
    expect(instantsOf("America/New_York", "02:30", at("2026-03-08T05:00Z"), at("2026-03-08T15:00Z"))).toEqual([]);
    for (const text of ["", "4", "25:00", "12:60", "ab:cd", "12:3"])
      expect(instantsOf("Europe/Dublin", text, from, to)).toEqual([]);
  });

  it("takes the nearest of several", () => {
    const span = { fromMs: at("2026-11-26T12:00Z"), toMs: at("2026-11-27T14:00Z") };
    expect(nearestInstant("Europe/Dublin", "12:30", at("2026-11-27T10:00Z"), span)).toBe(at("2026-11-27T12:30Z"));
    expect(nearestInstant("Europe/Dublin", "12:30", at("2026-11-26T14:00Z"), span)).toBe(at("2026-11-26T12:30Z"));
  });

  it("agrees with the parts of Intl at every quarter of a year, in many zones", () => {
    for (const zone of [
      "Europe/Dublin",
      "America/St_Johns",
      "Australia/Lord_Howe",
      "Africa/Casablanca",
      "Asia/Tehran",
    ]) {
      const format = new Intl.DateTimeFormat("en-GB", {
        timeZone: zone,
        hour: "2-digit",
        minute: "2-digit",
        hourCycle: "h23",
      });
      for (let ms = at("2026-01-01T00:07Z"); ms < at("2027-01-01T00:00Z"); ms += 7 * HOUR + 13 * MINUTE)
        expect(clockFace(zone, ms)).toBe(format.format(ms));
    }
    expect(offsetMs("UTC", 0)).toBe(0);
  });

  it("shades the night by the local clock, longer by the hour that comes twice", () => {
    const night = nights("Europe/Dublin", at("2026-10-24T12:00Z"), at("2026-10-25T12:00Z"));
    expect(night).toEqual([{ fromMs: at("2026-10-24T20:00Z"), toMs: at("2026-10-25T06:00Z") }]);
    const inside = nights("Europe/Dublin", at("2026-11-27T02:00Z"), at("2026-11-27T03:00Z"));
    expect(inside).toEqual([{ fromMs: at("2026-11-27T02:00Z"), toMs: at("2026-11-27T03:00Z") }]);
  });

  it("cuts a span into local days of 23, 24 or 25 hours", () => {
    const hours = (zone: string, from: string, to: string) =>
      localDays(zone, { fromMs: at(from), toMs: at(to) }).map((day) => (day.toMs - day.fromMs) / HOUR);
    expect(hours("Europe/Dublin", "2026-10-24T12:00Z", "2026-10-25T12:00Z")).toEqual([24, 25]);
    expect(hours("America/New_York", "2026-03-08T06:00Z", "2026-03-08T10:00Z")).toEqual([23]);
  });

  it("writes durations as people say them", () => {
    expect(duration(45 * MINUTE)).toBe("45 min");
    expect(duration(2 * HOUR)).toBe("2 h");
    expect(duration(2 * HOUR + 5 * MINUTE)).toBe("2 h 05 min");
  });
});
