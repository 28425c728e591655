import type { DayDocuments } from "../../schemas/index.js";
import { runOnce } from "../solving/run.js";
import { interruption } from "./interruption.js";
import { progressWriter } from "./progress.js";

/** Runs an operation with its progress on stderr unless quiet; Ctrl-C stops it and keeps what is known so far. */
export function watchedRun<Response>(
  operation: string,
  day: DayDocuments,
  request: object,
  { quiet }: { readonly quiet: boolean },
): Promise<Response> {
  const progress = quiet ? null : progressWriter(process.stderr);
  const { signal, release } = interruption();
  return runOnce<Response>(operation, day, request, {
    ...(progress ? { onProgress: progress.report } : {}),
    signal,
  }).finally(() => {
    progress?.end();
    release();
  });
}
