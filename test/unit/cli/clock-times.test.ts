import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments } from "../../../schemas/index.js";
import { ClockTimes } from "../../../services/cli/clock-times.js";
import { readDayFolder } from "../../../services/day-folder.js";
import { resolveWhen } from "../../../solver/calendar.js";

const ZONE = "Europe/Dublin";
let friday: DayDocuments;

beforeAll(async () => {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error("the demo day has issues");
  friday = read.day;
});

/** Times of a day with its window, thu 12:00 to fri 14:00 unless another is given. */
function times(at: string, isAtTold = true, window?: { from: string; to: string }): ClockTimes {
  const day = window ? { ...friday, settings: { ...friday.settings, window } } : friday;
  const resolved = resolveWhen(at, ZONE);
  if ("problem" in resolved) throw new Error(`${at} is ${resolved.problem}`);
  return new ClockTimes(day, resolved.minute, isAtTold);
}

describe("HH:MM on the command line", () => {
  it("what happened lies within half a day of the instant", () => {
    const morning = times("2026-11-27T05:00");
    expect(morning.told("07:30", ZONE)).toBe("2026-11-27T07:30");
    expect(morning.told("23:30", ZONE)).toBe("2026-11-26T23:30");
    expect(times("2026-11-26T22:00").told("04:00", ZONE)).toBe("2026-11-27T04:00");
    expect(morning.told("2026-11-27T09:00", ZONE)).toBe("2026-11-27T09:00");
  });

  it("is the clock of the site, whatever offset the instant is written with", () => {
    expect(times("2026-11-27T05:00Z").told("06:00", ZONE)).toBe("2026-11-27T06:00");
    expect(times("2026-11-27T05:00Z").told("06:00", "Europe/Berlin")).toBe("2026-11-27T06:00");
    expect(times("2026-11-27T06:00+01:00").told("17:30", ZONE)).toBe("2026-11-26T17:30");
  });

  it("what is wished for lies inside the window, and ahead of the instant", () => {
    const untold = times("2026-11-26T12:00", false);
    expect(untold.wished("04:45", ZONE)).toBe("2026-11-27T04:45");
    expect(untold.wished("13:00", ZONE)).toBe("2026-11-26T13:00");
    expect(untold.wished("12:00", ZONE)).toBe("2026-11-26T12:00");
    expect(times("2026-11-27T05:00").wished("13:00", ZONE)).toBe("2026-11-27T13:00");
    // Past, or after the window: the one in the window, so that the answer says which rule it breaks.
    expect(times("2026-11-27T05:00").wished("04:30", ZONE)).toBe("2026-11-27T04:30");
    expect(times("2026-11-27T05:00").wished("15:00", ZONE)).toBe("2026-11-26T15:00");
  });

  it("without an instant of the report nothing was before the window", () => {
    const untold = times("2026-11-26T12:00", false);
    expect(untold.told("05:00", ZONE)).toBe("2026-11-27T05:00");
    expect(untold.toldOfTask("05:00", ZONE)).toBe("2026-11-27T05:00");
    // With one, an outage may have begun before the window; a task may not.
    expect(times("2026-11-26T13:00").told("11:00", ZONE)).toBe("2026-11-26T11:00");
    expect(times("2026-11-27T12:30").toldOfTask("14:30", ZONE)).toBe("2026-11-26T14:30");
  });

  it("an end is the first such time after the beginning", () => {
    const morning = times("2026-11-27T05:00");
    expect(morning.endOf("07:30", "2026-11-27T05:00", ZONE)).toBe("2026-11-27T07:30");
    expect(morning.endOf("19:00", "2026-11-27T05:00", ZONE)).toBe("2026-11-27T19:00");
    expect(morning.endOf("04:00", "2026-11-26T23:00", ZONE)).toBe("2026-11-27T04:00");
    expect(morning.endOf("05:00", "2026-11-27T05:00", ZONE)).toBe("2026-11-27T05:00");
  });

  it("a time that comes twice keeps its offset open, unless only one of the two can be meant", () => {
    const window = { from: "2026-10-24T12:00", to: "2026-10-25T14:00" };
    const evening = times("2026-10-24T12:00", false, window);
    expect(evening.wished("01:30", ZONE)).toBe("2026-10-25T01:30");
    expect(evening.wished("04:45", ZONE)).toBe("2026-10-25T04:45");
    const second = times("2026-10-25T01:10+00:00", true, window);
    expect(second.wished("01:30", ZONE)).toBe("2026-10-25T01:30:00+00:00");
    expect(second.wished("00:50", ZONE)).toBe("2026-10-25T00:50");
    expect(times("2026-10-25T01:40+01:00", true, window).wished("01:30", ZONE)).toBe("2026-10-25T01:30:00+00:00");
    expect(second.endOf("01:30", "2026-10-25T01:10:00+00:00", ZONE)).toBe("2026-10-25T01:30:00+00:00");
  });

  it("half a day is half a day of time where the clocks change", () => {
    const window = { from: "2026-10-24T12:00", to: "2026-10-25T14:00" };
    const morning = times("2026-10-25T05:00", true, window);
    expect(morning.told("07:30", ZONE)).toBe("2026-10-25T07:30");
    expect(morning.told("16:30", ZONE)).toBe("2026-10-25T16:30");
    expect(morning.told("18:30", ZONE)).toBe("2026-10-24T18:30");
  });

  it("a skipped time stays one, for the check to refuse", () => {
    const window = { from: "2026-03-28T12:00", to: "2026-03-29T14:00" };
    expect(times("2026-03-28T12:00", false, window).wished("01:30", ZONE)).toBe("2026-03-29T01:30");
  });
});
