import type { HoldResult } from "../../../solver/index.js";
import { refusalText } from "../../text/index.js";
import { UsageError } from "../arguments.js";
import { command } from "../command.js";
import { readMorning, TOLD } from "../morning.js";
import { BUDGET, budgetOf, HAPPENINGS, OUT, QUIET } from "../options.js";
import { badInput, EXIT, jsonText } from "../outcome.js";
import { watchedRun } from "../watched-run.js";
import { DEFAULT_SECONDS, repairOutcome } from "./repair.js";

export const hold = command({
  name: "hold",
  summary: "move or pin tasks by hand; the rest is repaired around them",
  operands: ["DAY_DIR", "TIMETABLE"],
  options: {
    task: {
      kind: "texts",
      label: "TASK=INSTANT[/UNIT]",
      help: "start it then, on that unit if given; times as HH:MM or in full",
    },
    ...TOLD,
    at: {
      ...TOLD.at,
      help: "what has started before stays (default: the start of the window)",
    },
    ...OUT,
    ...HAPPENINGS,
    json: { kind: "flag", help: "print timetable and changes as JSON instead of text" },
    brief: { kind: "flag", help: "print the changes only" },
    second: { kind: "flag", help: "take the second choice instead of the first" },
    ...BUDGET,
    ...QUIET,
  },
  about: `Moves or pins tasks of a timetable by hand and repairs the rest around them with as few moves as pays. A wish that
breaks a rule whatever else is moved is refused: the rule and the nearest times that work are named, and the command ends
with 2.`,
  usesServer: true,
  examples: [
    "deckshelf hold services/demo/ordinary-day friday.json --task tin-loaf-64-bake=04:30/weir-yard/oven-1/deck-2",
    "deckshelf hold services/demo/ordinary-day friday.json --at 2026-11-26T16:00 --task rye-b-11-mix=17:15 --out friday-2.json",
  ],
  async run({ operands, options }) {
    if (options.task.length === 0)
      throw new UsageError("Say with --task what is to be held, for example --task tin-loaf-64-bake=04:30.");
    const read = await readMorning(
      operands[0]!,
      operands[1]!,
      options,
      (told) => options.task.map((text) => told.hold(text)),
      (day) => day.settings.window.from,
    );
    if ("issues" in read) return badInput(read.issues, options.json);
    const result = await watchedRun<HoldResult>(
      "hold",
      read.day,
      { seconds: DEFAULT_SECONDS, ...budgetOf(options) },
      options,
    );
    if ("refusals" in result)
      return {
        stdout: options.json ? jsonText(result) : "",
        stderr: options.json ? "" : `${refusalText(read.day, result.refusals)}\n`,
        code: EXIT.badInput,
      };
    return repairOutcome(read.day, result, options, true);
  },
});
