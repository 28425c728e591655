import type { Issue } from "../../schemas/index.js";
import { issuesText } from "../text/index.js";

export const EXIT = { good: 0, wanting: 1, badInput: 2, refused: 3, fault: 4 } as const;

/** What a command prints and how it ends. */
export interface Outcome {
  readonly stdout: string;
  readonly stderr: string;
  readonly code: number;
}

/** As it is printed and written: indented, with a newline at the end. */
export function jsonText(value: unknown): string {
  return `${JSON.stringify(value, null, 2)}\n`;
}

/** Documents that are not in order: as JSON on stdout, or as text on stderr. */
export function badInput(issues: readonly Issue[], asJson: boolean): Outcome {
  const stdout = asJson ? jsonText({ issues }) : "";
  return { stdout, stderr: asJson ? "" : `${issuesText(issues)}\n`, code: EXIT.badInput };
}
