import { execFileSync } from "node:child_process";
import { accessSync, constants } from "node:fs";
import { delimiter, join } from "node:path";

function onPath(name: string): string | undefined {
  for (const folder of (process.env.PATH ?? "").split(delimiter)) {
    const path = join(folder, name);
    try {
      accessSync(path, constants.X_OK);
      return path;
    } catch {
      // Not in this folder.
    }
  }
  return undefined;
}

/**
 * The path of a program that the tests need from the system: the first of its names that is there. Where it is missing, and we are root on a system with
 * apt-get, its package is installed, and that is said. Throws with what to do where that cannot be.
 */
export function systemProgram(names: readonly string[], aptPackage: string): string {
  const found = (): string | undefined => names.map(onPath).find((path) => path !== undefined);
  const there = found();
  if (there !== undefined) return there;
  if (process.getuid?.() !== 0 || onPath("apt-get") === undefined)
    throw new Error(`The tests need ${names.join(" or ")}: install it (on Debian: apt-get install ${aptPackage}).`);
  process.stderr.write(`Installing ${aptPackage} with apt-get: the tests need it and it is not here.\n`);
  // RUNLEVEL: programs that are services do not start.
  const apt = (args: readonly string[]): void => {
    execFileSync("apt-get", [...args], {
      stdio: "pipe",
      env: { ...process.env, DEBIAN_FRONTEND: "noninteractive", RUNLEVEL: "1" },
    });
  };
  apt(["update"]);
  apt(["install", "-y", "--no-install-recommends", aptPackage]);
  const installed = found();
  if (installed === undefined) throw new Error(`${aptPackage} was installed, but ${names.join(" or ")} is not there.`);
  return installed;
}

/** A real Chromium. */
export function chromiumPath(): string {
  return systemProgram(["chromium", "chromium-browser"], "chromium");
}
