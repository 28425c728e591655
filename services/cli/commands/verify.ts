import { verify as breachesOf } from "../../../solver/index.js";
import { readDayFolder, readTimetable } from "../../day-folder.js";
import { breachText } from "../../text/index.js";
import { command } from "../command.js";
import { badInput, EXIT, jsonText } from "../outcome.js";

export const verify = command({
  name: "verify",
  summary: "check a timetable against the rules, however it was made",
  operands: ["DAY_DIR", "TIMETABLE"],
  options: { json: { kind: "flag", help: "print the breaches as JSON" } },
  about: `Checks a timetable (JSON), drawn or edited by hand, against the day's documents and the rules R1 to R16, and lists every
breach with rule, tasks, unit and instants.`,
  examples: ["deckshelf verify services/demo/ordinary-day friday.json"],
  async run({ operands, options }) {
    const [read, table] = await Promise.all([readDayFolder(operands[0]!), readTimetable(operands[1]!)]);
    const issues = [...("issues" in read ? read.issues : []), ...("issues" in table ? table.issues : [])];
    if ("issues" in read || "issues" in table) return badInput(issues, options.json);
    const breaches = breachesOf(read.day, table.timetable);
    const stdout = options.json ? jsonText({ breaches }) : `${breachText(breaches)}\n`;
    return { stdout, stderr: "", code: breaches.length > 0 ? EXIT.refused : EXIT.good };
  },
});
