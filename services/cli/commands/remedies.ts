import type { RemedyReport } from "../../../schemas/index.js";
import { readDayFolder, writeAtomically } from "../../day-folder.js";
import { remediesText } from "../../text/index.js";
import { command } from "../command.js";
import { readGrow } from "../grow.js";
import { BUDGET, QUIET } from "../options.js";
import { badInput, EXIT, jsonText } from "../outcome.js";
import { watchedRun } from "../watched-run.js";
import { choiceIssues, refuseBadOut } from "../what-if.js";

export const remedies = command({
  name: "remedies",
  summary: "say what would make the orders fit, each change drawn up and verified",
  operands: ["DAY_DIR"],
  options: {
    grow: {
      kind: "text",
      label: "LINES",
      help: "what grows: all (default), or product:ID, customer:NAME, site:ID, line:ID, comma between",
    },
    times: {
      kind: "number",
      label: "N",
      least: 0.01,
      most: 20,
      isWhole: false,
      help: "the multiple of the orders that is to fit (default 1)",
    },
    seconds: { ...BUDGET.seconds, least: 1, help: "for N seconds (default 60)" },
    seed: BUDGET.seed,
    out: {
      kind: "text",
      label: "FILE",
      help: "write the answer as JSON to FILE; each remedy's changes make a scenario",
    },
    json: { kind: "flag", help: "print the answer as JSON instead of text" },
    ...QUIET,
  },
  about: `Thinks of changes that a planner can make (a rented fridge, another person, a shift that starts earlier, one more deck
or kettle, more pans or tubs, another van run, some lines delivered later...), chosen by what is wanting, draws each up anew and
verifies it, and ranks them by effect and stated cost; pairs of them where one is not enough.`,
  notes: `Prices are those of settings.json, placeholders where none are given. Exit code 0: something makes it fit, or it fits;
1: nothing did.`,
  usesServer: true,
  examples: [
    "deckshelf remedies services/demo/holiday-spike",
    "deckshelf remedies services/demo/ordinary-day --times 1.5 --seconds 120 --out remedies.json",
  ],
  async run({ operands, options }) {
    await refuseBadOut(options.out);
    const grow = readGrow(options.grow);
    const read = await readDayFolder(operands[0]!);
    if ("issues" in read) return badInput(read.issues, options.json);
    const issues = choiceIssues(read.day, grow);
    if (issues.length > 0) return badInput(issues, options.json);
    const request = {
      ...(grow ? { grow } : {}),
      ...(options.times === undefined ? {} : { multiple: options.times }),
      ...(options.seconds === undefined ? {} : { seconds: options.seconds }),
      ...(options.seed === undefined ? {} : { seed: options.seed }),
    };
    const found = await watchedRun<RemedyReport>("remedies", read.day, request, options);
    if (options.out !== undefined) await writeAtomically(options.out, jsonText(found));
    return {
      stdout: options.json ? jsonText(found) : remediesText(read.day, found),
      stderr: "",
      code: found.asItIs.trial?.fits || found.tried.some(({ fits }) => fits) ? EXIT.good : EXIT.wanting,
    };
  },
});
