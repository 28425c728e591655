import ICAL from "ical.js";
import { beforeAll, describe, expect, it } from "vitest";
import { calendarFile, calendarText } from "../../../services/calendar.js";
import { type Diary, diariesOf } from "../../../solver/sheets/diary.js";
import { drawn } from "../../support/drawn.js";

const STAMPED = { stampedAt: new Date("2026-01-05T03:30:00Z") };
let diaries: Diary[];

beforeAll(async () => {
  const { day, timetable } = await drawn("ordinary-day", 100);
  diaries = diariesOf(day, timetable);
}, 60_000);

function events(text: string): ICAL.Event[] {
  const calendar = new ICAL.Component(ICAL.parse(text));
  expect(calendar.getFirstPropertyValue("version")).toBe("2.0");
  expect(calendar.getFirstPropertyValue("prodid")).toMatch(/Deck and Shelf/);
  return calendar.getAllSubcomponents("vevent").map((event) => new ICAL.Event(event));
}

/** RFC 5545, read by ical.js, a parser that shares nothing with the writer. */
describe("calendars", { timeout: 60_000 }, () => {
  it("say what the timetable says, for every station, crew and person", () => {
    expect(diaries.length).toBeGreaterThan(30);
    for (const diary of diaries) {
      const read = events(calendarText(diary, STAMPED));
      expect(read.length).toBe(diary.entries.length);
      read.forEach((event, i) => {
        const entry = diary.entries[i]!;
        expect(event.startDate.toJSDate().getTime()).toBe(Date.parse(entry.start));
        expect(event.endDate.toJSDate().getTime()).toBe(Date.parse(entry.end));
        expect(event.summary).toBe(entry.summary);
        expect(event.location).toBe(entry.location);
        expect(event.description).toBe(entry.description);
        expect(event.component.getFirstPropertyValue("dtstamp")?.toString()).toBe("2026-01-05T03:30:00Z");
      });
      expect(new Set(read.map(({ uid }) => uid)).size).toBe(read.length);
    }
  });

  it("fold at 75 octets, not inside a character, and end lines with CRLF", () => {
    const odd: Diary = {
      who: "a/b",
      name: "Käse; Brot, \\ und mehr",
      entries: [
        {
          id: "x",
          start: "2026-01-05T09:30:00Z",
          end: "2026-01-05T09:45:00Z",
          summary: "ä".repeat(80),
          location: "a,b;c\\d",
          description: "first line\nsecond 😀 line ".repeat(8),
        },
      ],
    };
    const text = calendarText(odd, { ...STAMPED, alarmMinutes: 5 });
    for (const line of text.split("\r\n")) expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75);
    expect(text.replaceAll("\r\n", "")).not.toMatch(/[\r\n]/);
    const [event] = events(text);
    expect([event!.summary, event!.location, event!.description]).toEqual([
      odd.entries[0]!.summary,
      odd.entries[0]!.location,
      odd.entries[0]!.description,
    ]);
    expect(text).toContain("TRIGGER:-PT5M");
  });

  /** Source: RFC 5545 (VERSION, PRODID, UID, DTSTAMP, DTSTART). */
  it("an entry of no length has no DTEND", () => {
    const [event] = events(
      calendarText(
        {
          who: "a",
          name: "A",
          entries: [
            {
              id: "x",
              start: "2026-01-05T09:30:00Z",
              end: "2026-01-05T09:30:00Z",
              summary: "s",
              location: "l",
              description: "d",
            },
          ],
        },
        STAMPED,
      ),
    );
    expect(event!.component.hasProperty("dtend")).toBe(false);
  });

  it("carry cautions and allergens, and have file names of their own", () => {
    const kettle = diaries.find(({ who }) => who === "weir-yard/kettle-1")!;
    expect(kettle.entries.some(({ description }) => /scald/.test(description) && /Allergens/.test(description))).toBe(
      true,
    );
    expect(new Set(diaries.map(({ who }) => calendarFile(who))).size).toBe(diaries.length);
  });
});
