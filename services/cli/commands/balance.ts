import type { Balance, DayDocuments, Issue, Wish } from "../../../schemas/index.js";
import { readDayFolder, writeAtomically } from "../../day-folder.js";
import { balanceText } from "../../text/index.js";
import { command } from "../command.js";
import { BUDGET, budgetOf, QUIET } from "../options.js";
import { badInput, EXIT, jsonText } from "../outcome.js";
import { watchedRun } from "../watched-run.js";
import { choiceIssues, refuseBadOut } from "../what-if.js";
import { readWishes } from "../wishes.js";

/** Everything that wishes name exists. */
function wishIssues(day: DayDocuments, wishes: readonly Wish[]): Issue[] {
  return wishes.flatMap((wish) => {
    const issues = wish.kind === "bake-at" ? choiceIssues(day, wish.of) : [];
    if (wish.kind !== "home" && !day.network.sites.some(({ id }) => id === wish.site))
      issues.push({
        code: "unknown-site",
        document: "network",
        pointer: "",
        message: `Site "${wish.site}" of a wish is not in the network.`,
        fix: `Name one of: ${day.network.sites.map(({ id }) => id).join(", ")}.`,
      });
    return issues;
  });
}

export const balance = command({
  name: "balance",
  summary: "say who makes what and what rides where",
  operands: ["DAY_DIR"],
  options: {
    fix: { kind: "texts", label: "LINES=SITE", help: "bake lines at a site, for example product:baton=bridge-shop" },
    share: { kind: "texts", label: "SITE=A..B", help: "a site bakes between A and B percent of all pieces" },
    home: {
      kind: "number",
      label: "N",
      least: 0,
      most: 1000,
      isWhole: false,
      help: "each piece that does not ride is worth N",
    },
    out: { kind: "text", label: "FILE", help: "write the balance, its timetable included, as JSON to FILE" },
    json: { kind: "flag", help: "print the balance as JSON instead of text" },
    ...BUDGET,
    seconds: { ...BUDGET.seconds, help: "search for N seconds in all (default 10)" },
    ...QUIET,
  },
  about: `Decides over all sites, hours, stations and van runs who makes what and what rides where, draws up a timetable after it,
and prints per site what it bakes and for whom, the load on each station by hour, and the rides. What a site cannot follow is
fed back.`,
  notes:
    "The cost of each wish is that of the program with it less that without it. Exit code 0: every order is on time; 1: not.",
  usesServer: true,
  examples: [
    "deckshelf balance services/demo/ordinary-day",
    "deckshelf balance services/demo/ordinary-day --fix product:baton=weir-yard --share quay-shop=15..30",
    "deckshelf balance services/demo/ordinary-day --home 0.05 --json > balance.json",
  ],
  async run({ operands, options }) {
    await refuseBadOut(options.out);
    const wishes = readWishes(options.fix, options.share, options.home);
    const read = await readDayFolder(operands[0]!);
    if ("issues" in read) return badInput(read.issues, options.json);
    const issues = wishIssues(read.day, wishes);
    if (issues.length > 0) return badInput(issues, options.json);
    const found = await watchedRun<Balance>("balance", read.day, { ...budgetOf(options), wishes }, options);
    if (options.out !== undefined) await writeAtomically(options.out, jsonText(found));
    return {
      stdout: options.json ? jsonText(found) : balanceText(read.day, found),
      stderr: "",
      code: found.timetable.orders.every(({ state }) => state === "on-time") ? EXIT.good : EXIT.wanting,
    };
  },
});
