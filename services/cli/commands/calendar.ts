import { diariesOf } from "../../../solver/sheets/diary.js";
import { calendarFile, calendarText } from "../../calendar.js";
import { readDayFolder, readTimetable } from "../../day-folder.js";
import { NotOurFolder, writeFolder } from "../../folder-of-files.js";
import { UsageError } from "../arguments.js";
import { command } from "../command.js";
import { mustBeOfDay } from "../of-day.js";
import { badInput, EXIT } from "../outcome.js";

export const calendar = command({
  name: "calendar",
  summary: "calendars (RFC 5545) of stations, crews and people",
  operands: ["DAY_DIR", "TIMETABLE"],
  options: {
    out: { kind: "text", label: "DIR", help: "write a file for each station, crew group and person into this folder" },
    for: { kind: "text", label: "WHO", help: "print one: SITE/UNIT, SITE/OVEN/DECK, SITE/GROUP or SITE/GROUP/NUMBER" },
    alarm: {
      kind: "number",
      label: "MINUTES",
      help: "an alarm so long before each task",
      least: 0,
      most: 1440,
      isWhole: true,
    },
  },
  about: `Writes calendars that phones and calendar programs read: one for each station, crew group and person that has anything to do.
People are numbers within their group; a load stays with the same person where that is possible.`,
  examples: [
    "deckshelf calendar services/demo/ordinary-day friday.json --out calendars",
    "deckshelf calendar services/demo/ordinary-day friday.json --for weir-yard/oven-1/deck-1 --alarm 5 > deck.ics",
  ],
  async run({ operands, options }) {
    if ((options.out === undefined) === (options.for === undefined))
      throw new UsageError("calendar needs either --out DIR or --for WHO.");
    const [read, table] = await Promise.all([readDayFolder(operands[0]!), readTimetable(operands[1]!)]);
    const issues = [...("issues" in read ? read.issues : []), ...("issues" in table ? table.issues : [])];
    if ("issues" in read || "issues" in table) return badInput(issues, false);
    mustBeOfDay(read.day, table.timetable, operands[1]!);
    const diaries = diariesOf(read.day, table.timetable);
    const how = {
      stampedAt: new Date(),
      ...(options.alarm === undefined ? {} : { alarmMinutes: options.alarm }),
    };
    if (options.for !== undefined) {
      const diary = diaries.find(({ who }) => who === options.for);
      if (!diary)
        throw new UsageError(
          `Nobody and nothing called "${options.for}" has anything to do; there are ${diaries.map(({ who }) => who).join(", ")}.`,
        );
      return { stdout: calendarText(diary, how), stderr: "", code: EXIT.good };
    }
    const files = new Map(diaries.map((diary) => [calendarFile(diary.who), calendarText(diary, how)]));
    try {
      await writeFolder(options.out!, files);
    } catch (error) {
      if (error instanceof NotOurFolder) throw new UsageError(error.message);
      throw error;
    }
    return { stdout: `${files.size} calendars in ${options.out}.\n`, stderr: "", code: EXIT.good };
  },
});
