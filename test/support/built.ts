import { execFileSync, spawn } from "node:child_process";
import { existsSync, readdirSync, statSync } from "node:fs";
import { join } from "node:path";

function newest(folder: string): number {
  return Math.max(
    0,
    ...readdirSync(folder, { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile() && /\.(ts|json)$/.test(entry.name))
      .map((entry) => statSync(join(entry.parentPath, entry.name)).mtimeMs),
  );
}

/** Builds dist unless it is newer than every source: npm test has built it before the tests, whoever runs a single file by hand may not have. */
export function build(): void {
  const made = "dist/test/support/built.js";
  const sources = ["schemas", "solver", "services", "test"].map(newest);
  if (existsSync(made) && statSync(made).mtimeMs > Math.max(...sources)) return;
  execFileSync("npx", ["tsc", "-p", "tsconfig.json"], { stdio: "pipe" });
  execFileSync("node", ["schemas/validators.mjs"], { stdio: "pipe" });
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
