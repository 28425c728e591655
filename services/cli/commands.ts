import { stat } from "node:fs/promises";
import type { DayDocuments, Issue, Timetable } from "../../schemas/index.js";
import { verify } from "../../solver/index.js";
import { readDayFolder, readTimetable, writeAtomically } from "../day-folder.js";
import { drawInWorker } from "../drawing.js";
import { breachText, issuesText, summaryText, timetableText, wantingText } from "../text/index.js";
import { type Arguments, operands, UsageError } from "./arguments.js";
import { progressWriter } from "./progress.js";

export const EXIT = { good: 0, wanting: 1, badInput: 2, refused: 3, fault: 4 } as const;

/** What a command prints and how it ends. */
export interface Outcome {
  readonly stdout: string;
  readonly stderr: string;
  readonly code: number;
}

function json(value: unknown): string {
  return `${JSON.stringify(value, null, 2)}\n`;
}

function badInput(issues: readonly Issue[], args: Arguments): Outcome {
  const stdout = args.json ? json({ issues }) : "";
  return { stdout, stderr: args.json ? "" : `${issuesText(issues)}\n`, code: EXIT.badInput };
}

async function dayOf(folder: string): Promise<{ day: DayDocuments } | { issues: Issue[] }> {
  return readDayFolder(folder);
}

export async function check(args: Arguments): Promise<Outcome> {
  const [folder] = operands(args, ["DAY_DIR"]) as [string];
  const read = await dayOf(folder);
  if ("issues" in read) return badInput(read.issues, args);
  const { network, catalogue, orders } = read.day;
  const text = `In order: ${network.sites.length} sites, ${catalogue.products.length} products from ${catalogue.doughs.length} doughs, ${orders.lines.length} order lines.\n`;
  return { stdout: args.json ? json({ issues: [] }) : text, stderr: "", code: EXIT.good };
}

export async function verifyCommand(args: Arguments): Promise<Outcome> {
  const [folder, path] = operands(args, ["DAY_DIR", "TIMETABLE"]) as [string, string];
  const [read, table] = await Promise.all([dayOf(folder), readTimetable(path)]);
  const issues = [...("issues" in read ? read.issues : []), ...("issues" in table ? table.issues : [])];
  if ("issues" in read || "issues" in table) return badInput(issues, args);
  const breaches = verify(read.day, table.timetable);
  const stdout = args.json ? json({ breaches }) : `${breachText(breaches)}\n`;
  return { stdout, stderr: "", code: breaches.length > 0 ? EXIT.refused : EXIT.good };
}

/** A place for the output is refused before minutes are spent on what to put there. */
async function refuseBadOut(out: string | undefined): Promise<void> {
  if (out === undefined) return;
  const info = await stat(out).catch(() => null);
  if (info?.isDirectory()) throw new UsageError(`--out ${out} is a folder; give a file name.`);
}

function isOnTime(timetable: Timetable): boolean {
  return timetable.orders.every((order) => order.state === "on-time");
}

/** Ctrl-C once: stop and keep; twice: end. */
function interruption(): { signal: AbortSignal; release: () => void } {
  const controller = new AbortController();
  const onInterrupt = (): void => {
    if (controller.signal.aborted) process.exit(130);
    controller.abort();
  };
  process.on("SIGINT", onInterrupt);
  return { signal: controller.signal, release: () => process.off("SIGINT", onInterrupt) };
}

export async function drawCommand(args: Arguments): Promise<Outcome> {
  const [folder] = operands(args, ["DAY_DIR"]) as [string];
  await refuseBadOut(args.out);
  const read = await dayOf(folder);
  if ("issues" in read) return badInput(read.issues, args);
  const progress = args.quiet ? null : progressWriter(process.stderr);
  const { signal, release } = interruption();
  const result = await drawInWorker(read.day, {
    ...(args.seconds === undefined ? {} : { seconds: args.seconds }),
    ...(args.iterations === undefined ? {} : { iterations: args.iterations }),
    ...(args.seed === undefined ? {} : { seed: args.seed }),
    ...(progress ? { onProgress: progress.report } : {}),
    signal,
  }).finally(() => {
    progress?.end();
    release();
  });
  if (result.breaches.length > 0) {
    const text = `${breachText(result.breaches)}\nThe program drew up a timetable that breaks the rules, and does not show it. Please report it with the day folder.\n`;
    return {
      stdout: args.json ? json({ breaches: result.breaches }) : "",
      stderr: args.json ? "" : text,
      code: EXIT.refused,
    };
  }
  const { timetable } = result;
  if (args.out !== undefined) await writeAtomically(args.out, json(timetable));
  const text = args.brief
    ? `${[summaryText(read.day, timetable, result), wantingText(read.day, timetable)].filter((part) => part !== "").join("\n\n")}\n`
    : timetableText(read.day, timetable, result);
  return {
    stdout: args.json ? json(timetable) : text,
    stderr: "",
    code: isOnTime(timetable) ? EXIT.good : EXIT.wanting,
  };
}
