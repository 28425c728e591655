import { stat } from "node:fs/promises";
import type { DayDocuments, Issue, LineChoice, Scenario } from "../../schemas/index.js";
import { applyScenario } from "../../solver/index.js";
import { readScenarioFile } from "../day-folder.js";
import { UsageError } from "./arguments.js";

/** A place for the output is refused before minutes are spent on what to put there. */
export async function refuseBadOut(out: string | undefined): Promise<void> {
  if (out === undefined) return;
  const info = await stat(out).catch(() => null);
  if (info?.isDirectory()) throw new UsageError(`--out ${out} is a folder; give a file name.`);
}

/** What is wrong with a choice of lines, as with any change. */
export function choiceIssues(day: DayDocuments, grow: LineChoice | undefined): Issue[] {
  if (!grow) return [];
  const scenario: Scenario = {
    format: "scenario/1",
    name: "grow",
    changes: [{ kind: "multiply-orders", of: grow, times: 1 }],
  };
  const applied = applyScenario(day, scenario);
  if (!("issues" in applied)) return [];
  return applied.issues.map((issue) => ({ ...issue, pointer: issue.pointer.replace("/changes/0/of", "--grow ") }));
}

/** Reads a scenario and makes its changes to a day; the issues name the file. */
export async function readScenario(
  day: DayDocuments,
  path: string,
): Promise<{ scenario: Scenario; day: DayDocuments } | { issues: Issue[] }> {
  const named = (issues: readonly Issue[]): Issue[] =>
    issues.map((issue) => ({ ...issue, message: `${path}: ${issue.message}` }));
  const read = await readScenarioFile(path);
  if ("issues" in read) return { issues: named(read.issues) };
  const { scenario } = read;
  const applied = applyScenario(day, scenario);
  return "issues" in applied ? { issues: named(applied.issues) } : { scenario, day: applied.day };
}
