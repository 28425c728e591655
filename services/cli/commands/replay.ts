import type { Replay } from "../../../schemas/index.js";
import { readDayFolder, readTimetable } from "../../day-folder.js";
import { runOnce } from "../../solving/run.js";
import { replayText } from "../../text/index.js";
import { command } from "../command.js";
import { mustBeOfDay } from "../of-day.js";
import { BUDGET } from "../options.js";
import { badInput, EXIT, jsonText } from "../outcome.js";

export const replay = command({
  name: "replay",
  summary: "how sure a timetable is when durations vary",
  operands: ["DAY_DIR", "TIMETABLE"],
  options: {
    runs: { kind: "number", label: "N", least: 1, most: 20_000, isWhole: true, help: "play it N times (default 1000)" },
    seed: BUDGET.seed,
    json: { kind: "flag", help: "print the answer as JSON" },
  },
  about: `Plays the timetable many times with durations drawn around the planned ones (gamma distribution; the spread of each
step from the catalogue, else by kind: mix 5 %, boil 8 %, bake 4 %, shape, top and pack 15 %, van 15 % of the mean, common
practice without a source). Says how often each order was on time, with a 95 % interval, and which tasks most often made
orders late. Same seed, same answer.`,
  usesServer: true,
  examples: ["deckshelf replay services/demo/ordinary-day friday.json --runs 1000"],
  async run({ operands, options }) {
    const [read, table] = await Promise.all([readDayFolder(operands[0]!), readTimetable(operands[1]!)]);
    const issues = [...("issues" in read ? read.issues : []), ...("issues" in table ? table.issues : [])];
    if ("issues" in read || "issues" in table) return badInput(issues, options.json);
    mustBeOfDay(read.day, table.timetable, operands[1]!);
    const answer = await runOnce<Replay>("replay", read.day, {
      timetable: table.timetable,
      ...(options.runs === undefined ? {} : { runs: options.runs }),
      ...(options.seed === undefined ? {} : { seed: options.seed }),
    });
    return {
      stdout: options.json ? jsonText(answer) : `${replayText(read.day, table.timetable, answer)}\n`,
      stderr: "",
      code: EXIT.good,
    };
  },
});
