import { stat } from "node:fs/promises";
import type { Timetable } from "../../../schemas/index.js";
import type { DrawResult } from "../../../solver/index.js";
import { readDayFolder, writeAtomically } from "../../day-folder.js";
import { breachText, summaryText, timetableText, wantingText } from "../../text/index.js";
import { UsageError } from "../arguments.js";
import { command } from "../command.js";
import { BUDGET, budgetOf, OUT, QUIET } from "../options.js";
import { badInput, EXIT, jsonText } from "../outcome.js";
import { watchedRun } from "../watched-run.js";

/** A place for the output is refused before minutes are spent on what to put there. */
async function refuseBadOut(out: string | undefined): Promise<void> {
  if (out === undefined) return;
  const info = await stat(out).catch(() => null);
  if (info?.isDirectory()) throw new UsageError(`--out ${out} is a folder; give a file name.`);
}

function givenUpText(tasks: readonly string[]): string {
  if (tasks.length === 0) return "";
  return `\nNo longer locked or held, because as the documents are now it cannot be kept: ${tasks.join(", ")}.\nTake that out of happenings.json when this timetable goes in force.\n`;
}

function isOnTime(timetable: Timetable): boolean {
  return timetable.orders.every((order) => order.state === "on-time");
}

export const draw = command({
  name: "draw",
  summary: "draw up the day's timetable",
  operands: ["DAY_DIR"],
  options: {
    ...OUT,
    json: { kind: "flag", help: "print the timetable as JSON instead of text" },
    brief: { kind: "flag", help: "print the summary only" },
    slack: {
      kind: "number",
      label: "N",
      least: 0,
      most: 120,
      isWhole: true,
      help: "wish loads to be ready N min before van or due time (default: the day's settings, else 0)",
    },
    ...BUDGET,
    ...QUIET,
  },
  about: `Draws up the timetable of a day: who makes what, where and when, to the minute, with every shelf, deck and rack position
named. The verifier checks it before it is shown.`,
  notes: "Ctrl-C stops the search and keeps the best timetable so far; a second one ends the program.",
  usesServer: true,
  examples: [
    "deckshelf draw services/demo/ordinary-day --out friday.json",
    "deckshelf draw services/demo/holiday-spike --seconds 20 --brief",
    "deckshelf draw services/demo/ordinary-day --iterations 2000 --seed 7 --json > friday.json",
  ],
  async run({ operands, options }) {
    await refuseBadOut(options.out);
    const read = await readDayFolder(operands[0]!);
    if ("issues" in read) return badInput(read.issues, options.json);
    const day =
      options.slack === undefined
        ? read.day
        : { ...read.day, settings: { ...read.day.settings, slackMinutes: options.slack } };
    const result = await watchedRun<DrawResult>("draw", day, budgetOf(options), options);
    if (result.breaches.length > 0) {
      const text = `${breachText(result.breaches)}\nThe program drew up a timetable that breaks the rules, and does not show it. Please report it with the day folder.\n`;
      return {
        stdout: options.json ? jsonText({ breaches: result.breaches }) : "",
        stderr: options.json ? "" : text,
        code: EXIT.refused,
      };
    }
    const { timetable } = result;
    if (options.out !== undefined) await writeAtomically(options.out, jsonText(timetable));
    const text = options.brief
      ? `${[summaryText(read.day, timetable, result), wantingText(read.day, timetable)].filter((part) => part !== "").join("\n\n")}\n`
      : timetableText(read.day, timetable, result);
    const givenUp = givenUpText(result.givenUp ?? []);
    return {
      stdout: options.json ? jsonText(timetable) : `${text}${givenUp}`,
      stderr: options.json ? givenUp.trimStart() : "",
      code: isOnTime(timetable) ? EXIT.good : EXIT.wanting,
    };
  },
});
