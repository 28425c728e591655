import { verify as breachesOf } from "../../../solver/index.js";
import { readDayFolder, readTimetable } from "../../day-folder.js";
import { breachText } from "../../text/index.js";
import { command } from "../command.js";
import { readAsTold, TOLD } from "../morning.js";
import { badInput, EXIT, jsonText } from "../outcome.js";

export const verify = command({
  name: "verify",
  summary: "check a timetable against the rules, however it was made",
  operands: ["DAY_DIR", "TIMETABLE"],
  options: {
    from: {
      kind: "text",
      label: "TIMETABLE",
      help: "what was in force when it was repaired (default: timetable-in-force.json of the folder, if there)",
    },
    ...TOLD,
    json: { kind: "flag", help: "print the breaches as JSON" },
  },
  about: `Checks a timetable (JSON), drawn or edited by hand, against the day's documents and the rules R1 to R16, and lists every
breach with rule, tasks, unit and instants. A repaired timetable is sound with the news that it was repaired for: from
happenings.json of the day folder, or told with the same options as to repair.`,
  examples: [
    "deckshelf verify services/demo/ordinary-day friday.json",
    "deckshelf verify services/demo/ordinary-day friday-2.json --at 2026-11-27T05:00 --down weir-yard/oven-1/deck-2=05:00/07:30",
  ],
  async run({ operands, options }) {
    const table = await readTimetable(operands[1]!);
    const read =
      "issues" in table
        ? await readDayFolder(operands[0]!)
        : await readAsTold(operands[0]!, options.from, options, table.timetable);
    const issues = [...("issues" in read ? read.issues : []), ...("issues" in table ? table.issues : [])];
    if ("issues" in read || "issues" in table) return badInput(issues, options.json);
    const breaches = breachesOf(read.day, table.timetable);
    const stdout = options.json ? jsonText({ breaches }) : `${breachText(breaches)}\n`;
    return { stdout, stderr: "", code: breaches.length > 0 ? EXIT.refused : EXIT.good };
  },
});
