import type { Drift } from "../../../schemas/index.js";
import { runOnce } from "../../solving/run.js";
import { driftText } from "../../text/index.js";
import { command } from "../command.js";
import { readMorning, TOLD } from "../morning.js";
import { mustBeOfDay } from "../of-day.js";
import { badInput, EXIT, jsonText } from "../outcome.js";

export const drift = command({
  name: "drift",
  summary: "does the timetable in force still hold?",
  operands: ["DAY_DIR"],
  options: {
    from: {
      kind: "text",
      label: "TIMETABLE",
      help: "the timetable in force (default: timetable-in-force.json of the folder)",
    },
    ...TOLD,
    json: { kind: "flag", help: "print the answer as JSON" },
  },
  about: `Pushes real starts and finishes through the timetable in force, changing nothing: how the slack of each order has
shrunk, which steps stand too long, and whether a repair is worth it. Ends with 0 when the timetable still holds, with 1
when a repair is worth it.`,
  usesServer: true,
  examples: [
    "deckshelf drift services/demo/ordinary-day --from friday.json --at 2026-11-27T04:30 --running tin-loaf-64-shape=04:50",
  ],
  async run({ operands, options }) {
    const read = await readMorning(operands[0]!, options.from, options);
    if ("issues" in read) return badInput(read.issues, options.json);
    mustBeOfDay(read.day, read.day.inForce!, options.from ?? "timetable-in-force.json");
    const answer = await runOnce<Drift>("drift", read.day, {});
    return {
      stdout: options.json ? jsonText(answer) : `${driftText(read.day, read.day.inForce!, answer)}\n`,
      stderr: "",
      code: answer.holds ? EXIT.good : EXIT.wanting,
    };
  },
});
