import { readDayFolder, writeAtomically } from "../../day-folder.js";
import { comparisonText } from "../../text/index.js";
import { command } from "../command.js";
import { BUDGET, budgetOf, QUIET } from "../options.js";
import { badInput, EXIT, jsonText } from "../outcome.js";
import { watchedRun } from "../watched-run.js";
import { readScenario, refuseBadOut } from "../what-if.js";

export const compare = command({
  name: "compare",
  summary: "draw up the day and what-ifs of it, side by side",
  operands: ["DAY_DIR", "SCENARIO..."],
  options: {
    out: { kind: "text", label: "FILE", help: "write the comparison, its timetables included, as JSON to FILE" },
    json: { kind: "flag", help: "print the comparison as JSON instead of text" },
    ...BUDGET,
    ...QUIET,
  },
  about: `Draws up the day as it is and with the changes of each scenario (a JSON document: see schemas/scenario.schema.json), and
prints side by side what is late, short and moved, what it costs, and how full each station gets.`,
  notes: "The day folder itself is never changed.",
  usesServer: true,
  examples: [
    "deckshelf compare services/demo/holiday-spike services/demo/what-if/rented-fridge.json",
    "deckshelf compare services/demo/ordinary-day a.json b.json --seconds 20",
  ],
  async run({ operands, options }) {
    await refuseBadOut(options.out);
    const read = await readDayFolder(operands[0]!);
    if ("issues" in read) return badInput(read.issues, options.json);
    const scenarios = await Promise.all(operands.slice(1).map((path) => readScenario(read.day, path)));
    const issues = scenarios.flatMap((scenario) => ("issues" in scenario ? scenario.issues : []));
    if (issues.length > 0) return badInput(issues, options.json);
    const request = {
      ...budgetOf(options),
      scenarios: scenarios.flatMap((scenario) => ("issues" in scenario ? [] : [scenario.scenario])),
    };
    const { comparison } = await watchedRun<{ comparison: Parameters<typeof comparisonText>[1] }>(
      "compare",
      read.day,
      request,
      options,
    );
    if (options.out !== undefined) await writeAtomically(options.out, jsonText(comparison));
    return {
      stdout: options.json ? jsonText(comparison) : comparisonText(read.day, comparison),
      stderr: "",
      code: EXIT.good,
    };
  },
});
