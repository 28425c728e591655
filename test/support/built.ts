import { execFileSync, spawn } from "node:child_process";

/** Builds dist once a run, as npm test does before the tests; needed when a single file is run by hand. */
let built = false;
export function build(): void {
  if (built) return;
  execFileSync("npx", ["tsc", "-p", "tsconfig.json"], { stdio: "pipe" });
  built = true;
}

export interface Ran {
  readonly code: number | null;
  readonly stdout: string;
  readonly stderr: string;
}

/** Runs the built command line as a user would. */
export function deckshelf(
  args: readonly string[],
  options: { env?: NodeJS.ProcessEnv; interruptAfterMs?: number } = {},
): Promise<Ran> {
  return new Promise((resolve) => {
    const child = spawn("node", ["dist/services/cli/main.js", ...args], { env: { ...process.env, ...options.env } });
    let stdout = "";
    let stderr = "";
    let interrupted = false;
    child.stdout.on("data", (data: Buffer) => {
      stdout += data.toString();
    });
    child.stderr.on("data", (data: Buffer) => {
      stderr += data.toString();
      if (options.interruptAfterMs === undefined || interrupted || !stderr.includes("improving")) return;
      interrupted = true;
      setTimeout(() => child.kill("SIGINT"), options.interruptAfterMs);
    });
    child.on("close", (code) => resolve({ code, stdout, stderr }));
  });
}
