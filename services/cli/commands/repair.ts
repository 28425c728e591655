import type { DayDocuments } from "../../../schemas/index.js";
import type { RepairResult } from "../../../solver/index.js";
import { writeAtomically } from "../../day-folder.js";
import { breachText, changesText, secondText, summaryText } from "../../text/index.js";
import { command } from "../command.js";
import { isTold, readMorning, TOLD, type ToldOptions, toldText } from "../morning.js";
import { BUDGET, budgetOf, HAPPENINGS, OUT, QUIET } from "../options.js";
import { badInput, EXIT, jsonText, type Outcome } from "../outcome.js";
import { watchedRun } from "../watched-run.js";

export const DEFAULT_SECONDS = 3;

/** Runs a repair with progress, and stops and keeps at Ctrl-C. */
export async function runRepair(
  day: DayDocuments,
  options: Parameters<typeof budgetOf>[0] & { readonly quiet: boolean; readonly remedies?: number | undefined },
): Promise<RepairResult> {
  const given = budgetOf(options);
  const budget =
    given.seconds === undefined && given.iterations === undefined ? { ...given, seconds: DEFAULT_SECONDS } : given;
  const request = options.remedies === undefined ? budget : { ...budget, remedySeconds: options.remedies };
  return watchedRun<RepairResult>("repair", day, request, options);
}

/** A timetable that was repaired is sound only with its news: where they are, or how to keep them. */
function keptText(
  { out, happenings, ...told }: ToldOptions & Pick<Kept, "out" | "happenings">,
  hasWishes: boolean,
): string {
  if (happenings !== undefined)
    return `What it goes by is in ${happenings}: keep it as happenings.json of the day folder, with what it made as timetable-in-force.json.`;
  if (out === undefined || !(isTold(told) || hasWishes)) return "";
  const again = hasWishes ? "" : `Tell verify and the next repair the same again (${toldText(told)}), or keep it: `;
  return `${out} goes by news that happenings.json does not have, and is not sound without them. ${again}--happenings FILE writes them down.`;
}

interface Kept {
  readonly json: boolean;
  readonly out: string | undefined;
  readonly happenings: string | undefined;
  readonly second: boolean;
  readonly brief: boolean;
}

/** Prints a repair, writes it when asked to. */
export async function repairOutcome(
  day: DayDocuments,
  result: RepairResult,
  options: ToldOptions & Kept,
  hasWishes = false,
): Promise<Outcome> {
  if (result.breaches.length > 0) {
    const text = `${breachText(result.breaches)}\nThe program made a repair that breaks the rules, and does not show it. Please report it with the day folder.\n`;
    return {
      stdout: options.json ? jsonText({ breaches: result.breaches }) : "",
      stderr: options.json ? "" : text,
      code: EXIT.refused,
    };
  }
  if (options.second && !result.second)
    return { stdout: "", stderr: "There is no second choice that is quite different.\n", code: EXIT.badInput };
  const chosen = options.second ? result.second! : result;
  const { timetable, changes } = chosen;
  if (options.out !== undefined) await writeAtomically(options.out, jsonText(timetable));
  if (options.happenings !== undefined)
    await writeAtomically(options.happenings, jsonText(result.happenings ?? day.happenings));
  const { second } = result;
  const parts = [
    changesText(day, day.inForce!, timetable, changes),
    options.brief ? "" : summaryText(day, timetable),
    second && !options.second
      ? secondText(second.for, second.changes, second.timetable.cost.total, day.settings.currency ?? "")
      : "",
    keptText(options, hasWishes),
    `First conflict-free repair after ${Math.round(result.firstPlanMs)} ms, this one after ${(result.elapsedMs / 1000).toFixed(1)} s.`,
  ];
  const wanting = timetable.orders.some((order) => order.state !== "on-time");
  return {
    stdout: options.json
      ? jsonText({ timetable, changes, ...(second && !options.second ? { second } : {}) })
      : `${parts.filter((part) => part !== "").join("\n\n")}\n`,
    stderr: "",
    code: wanting ? EXIT.wanting : EXIT.good,
  };
}

export const repair = command({
  name: "repair",
  summary: "repair the timetable in force after what has happened",
  operands: ["DAY_DIR"],
  options: {
    from: {
      kind: "text",
      label: "TIMETABLE",
      help: "the timetable in force (default: timetable-in-force.json of the folder)",
    },
    ...TOLD,
    ...OUT,
    ...HAPPENINGS,
    json: { kind: "flag", help: "print timetable and changes as JSON instead of text" },
    brief: { kind: "flag", help: "print the changes only" },
    second: { kind: "flag", help: "take the second choice instead of the first" },
    remedies: {
      kind: "number",
      label: "N",
      least: 0,
      most: 3600,
      isWhole: false,
      help: "look N seconds more for what would help orders left late or short (default 3; 0: do not)",
    },
    ...BUDGET,
    ...QUIET,
  },
  about: `Repairs the timetable in force. What has begun at the instant, and what is locked or held, stays; the rest is moved as
little as pays, the less the nearer its time. Prints what changed: orders to be told, what is thrown away, and station by
station what moved from when to when. For orders that are left late or short it says what they wait for, and the cheapest
change (another person, a run, a unit...) with which a repair of the same morning has them on time. What happened is told
in happenings.json of the day folder, and in short with the options. Without news a task is taken to have gone as planned.`,
  notes: `When the timetable in force still holds, it is given back as it is. --seconds is ${DEFAULT_SECONDS} by default.
Ctrl-C stops and keeps the best so far.`,
  usesServer: true,
  examples: [
    "deckshelf repair services/demo/ordinary-day --from friday.json --at 2026-11-27T05:00 --down weir-yard/oven-1/deck-2=05:00/07:30",
    "deckshelf repair services/demo/ordinary-day --from friday.json --at 2026-11-27T04:00 --running ring-b-1-mix=04:20 --out new.json",
  ],
  async run({ operands, options }) {
    const read = await readMorning(operands[0]!, options.from, options);
    if ("issues" in read) return badInput(read.issues, options.json);
    return repairOutcome(read.day, await runRepair(read.day, options), options);
  },
});
