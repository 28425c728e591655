import type { Diary, DiaryEntry } from "../solver/sheets/diary.js";

/** Calendars as RFC 5545 text. Times are UTC, so that every reader shows them on its own clock. */

const FOLD_OCTETS = 75;

/** TEXT values: backslash, semicolon, comma and line break are escaped (section 3.3.11). */
function escaped(text: string): string {
  return text.replaceAll("\\", "\\\\").replaceAll(";", "\\;").replaceAll(",", "\\,").replaceAll(/\r?\n/g, "\\n");
}

/** Lines of at most 75 octets, never cut inside a character; what follows is set in by a blank (section 3.1). */
function folded(line: string): string {
  const parts: string[] = [];
  let part = "";
  let octets = 0;
  for (const character of line) {
    const size = Buffer.byteLength(character);
    if (octets + size > FOLD_OCTETS) {
      parts.push(part);
      part = " ";
      octets = 1;
    }
    part += character;
    octets += size;
  }
  return [...parts, part].join("\r\n");
}

/** YYYYMMDDTHHMMSSZ. */
function utc(instant: string | Date): string {
  return new Date(instant).toISOString().replaceAll(/[-:]|\.\d+/g, "");
}

function eventLines(entry: DiaryEntry, who: string, stamp: string, alarmMinutes: number | undefined): string[] {
  const day = utc(entry.start).slice(0, 8);
  return [
    "BEGIN:VEVENT",
    `UID:${day}-${who.replaceAll("/", "-")}-${entry.id}@deck-and-shelf.invalid`,
    `DTSTAMP:${stamp}`,
    `DTSTART:${utc(entry.start)}`,
    `DTEND:${utc(entry.end)}`,
    `SUMMARY:${escaped(entry.summary)}`,
    `LOCATION:${escaped(entry.location)}`,
    `DESCRIPTION:${escaped(entry.description)}`,
    ...(alarmMinutes === undefined
      ? []
      : [
          "BEGIN:VALARM",
          "ACTION:DISPLAY",
          `DESCRIPTION:${escaped(entry.summary)}`,
          `TRIGGER:-PT${alarmMinutes}M`,
          "END:VALARM",
        ]),
    "END:VEVENT",
  ];
}

export interface CalendarOptions {
  /** When the timetable was last changed: the DTSTAMP of every event. */
  readonly stampedAt: Date;
  /** An alarm so many minutes before each event. */
  readonly alarmMinutes?: number;
}

/** One calendar. An entry of no length becomes an event of none, which RFC 5545 allows only without DTEND. */
export function calendarText(diary: Diary, { stampedAt, alarmMinutes }: CalendarOptions): string {
  const stamp = utc(stampedAt);
  const events = diary.entries.flatMap((entry) => {
    const lines = eventLines(entry, diary.who, stamp, alarmMinutes);
    return entry.start === entry.end ? lines.filter((line) => !line.startsWith("DTEND:")) : lines;
  });
  const lines = [
    "BEGIN:VCALENDAR",
    "VERSION:2.0",
    "PRODID:-//Deck and Shelf//Timetable//EN",
    "CALSCALE:GREGORIAN",
    `NAME:${escaped(diary.name)}`,
    ...events,
    "END:VCALENDAR",
  ];
  return lines.map((line) => `${folded(line)}\r\n`).join("");
}

/** A file name for a calendar: weir-yard--oven-1--deck-1.ics. */
export function calendarFile(who: string): string {
  return `${who.replaceAll("/", "--")}.ics`;
}
