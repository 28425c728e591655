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

export interface Longest {
  /** What its thread worked in the busiest round, in ms: not the machine's doing, however long the round was. */
  readonly workedMs: number;
  readonly text: string;
}

/** The longest rounds since an instant, in words as well; undefined where nothing is watched. */
export async function longestSince(file: string, since: number): Promise<Longest | undefined> {
  await new Promise((resolve) => setTimeout(resolve, 50));
  const rounds = roundsSince(file, since);
  if (!rounds) return undefined;
  const most = (of: (round: Round) => number): number => Math.max(0, ...rounds.map(of));
  const workedMs = most((round) => round.workedMs);
  const parts = [
    `${workedMs.toFixed(0)} ms of work`,
    `${most(({ waitedMs }) => waitedMs).toFixed(0)} ms waiting for a core`,
    `${most(({ ms, ...one }) => ms - one.workedMs - one.waitedMs).toFixed(0)} ms in the kernel`,
  ];
  return {
    workedMs,
    text: `longest round of the loop ${most(({ ms }) => ms).toFixed(0)} ms (of one at most ${parts.join(", ")})`,
  };
}
