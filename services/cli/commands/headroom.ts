import type { Headroom } from "../../../schemas/index.js";
import { readDayFolder, writeAtomically } from "../../day-folder.js";
import { warmUp } from "../../solving/run.js";
import { headroomText } from "../../text/index.js";
import { command } from "../command.js";
import { readGrow } from "../grow.js";
import { BUDGET, QUIET } from "../options.js";
import { badInput, EXIT, jsonText } from "../outcome.js";
import { watchedRun } from "../watched-run.js";
import { choiceIssues, refuseBadOut } from "../what-if.js";

export const headroom = command({
  name: "headroom",
  summary: "say how much of the demand fits, and what gives out first",
  operands: ["DAY_DIR"],
  options: {
    grow: {
      kind: "text",
      label: "LINES",
      help: "what grows: all (default), or product:ID, customer:NAME, site:ID, line:ID, comma between",
    },
    to: {
      kind: "number",
      label: "N",
      least: 0.01,
      most: 20,
      isWhole: false,
      help: "no greater multiple is asked about (default 3)",
    },
    seconds: { ...BUDGET.seconds, least: 1, help: "for N seconds (default 20)" },
    seed: BUDGET.seed,
    out: { kind: "text", label: "FILE", help: "write the answer, its timetable included, as JSON to FILE" },
    json: { kind: "flag", help: "print the answer as JSON instead of text" },
    ...QUIET,
  },
  about: `Multiplies the orders and says how much fits: the greatest multiple for which a verified timetable has every line in
full and on time, the multiple above which that is certainly impossible, and what gives out first, by site and hour.`,
  notes:
    "Ctrl-C keeps what is known so far. Exit code 0: the orders as they are fit; 1: they do not, or it is not known.",
  usesServer: true,
  examples: [
    "deckshelf headroom services/demo/ordinary-day",
    "deckshelf headroom services/demo/ordinary-day --grow product:plain-ring,site:quay-shop --to 4",
    "deckshelf headroom services/demo/holiday-spike --seconds 60 --out headroom.json",
  ],
  async run({ operands, options }) {
    warmUp();
    await refuseBadOut(options.out);
    const grow = readGrow(options.grow);
    const read = await readDayFolder(operands[0]!);
    if ("issues" in read) return badInput(read.issues, options.json);
    const issues = choiceIssues(read.day, grow);
    if (issues.length > 0) return badInput(issues, options.json);
    const request = {
      ...(grow ? { grow } : {}),
      ...(options.to === undefined ? {} : { to: options.to }),
      ...(options.seconds === undefined ? {} : { seconds: options.seconds }),
      ...(options.seed === undefined ? {} : { seed: options.seed }),
    };
    const found = await watchedRun<Headroom>("headroom", read.day, request, options);
    if (options.out !== undefined) await writeAtomically(options.out, jsonText(found));
    return {
      stdout: options.json ? jsonText(found) : headroomText(read.day, found),
      stderr: "",
      code: found.verdict === "fits" ? EXIT.good : EXIT.wanting,
    };
  },
});
