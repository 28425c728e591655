import { existsSync, readFileSync } from "node:fs";

/** One round of a server's loop: see loop-watch.ts. */
export interface Round {
  readonly endedAt: number;
  readonly ms: number;
  readonly workedMs: number;
  readonly waitedMs: number;
}

/** What a server is started with so that its loop is watched. */
export function watched(file: string): NodeJS.ProcessEnv {
  const options = [process.env.NODE_OPTIONS ?? "", "--import ./dist/test/support/loop-watch.js"];
  return { NODE_OPTIONS: options.join(" ").trim(), DECKSHELF_LOOP_WATCH: file };
}

/** The long rounds that ended after an instant; undefined where nothing is watched. */
export function roundsSince(file: string, since: number): Round[] | undefined {
  if (!existsSync("/proc/self/schedstat")) return undefined;
  const lines = existsSync(file) ? readFileSync(file, "utf8").split("\n").slice(0, -1) : [];
  return lines.map((line) => JSON.parse(line) as Round).filter(({ endedAt }) => endedAt > since);
}
