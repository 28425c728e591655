import { execFileSync } from "node:child_process";
import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { basename, join, resolve } from "node:path";
import { beforeAll, describe, expect, it } from "vitest";
import { SqliteStore } from "../../services/store/sqlite.js";
import { createRng } from "../../solver/rng.js";
import { build } from "../support/built.js";
import { replay } from "../support/power.js";

/**
 * A power cut, played on what the store really wrote: its system calls are traced, and at many moments files are made with all that was synced and, of what was
 * written since, any sectors. What was answered by then must be in them.
 */
const LONG = process.env.DECKSHELF_LONG === "1";
const CALLS = "trace=openat,pwrite64,ftruncate,fsync,fdatasync,write";

const canTrace = ((): boolean => {
  try {
    execFileSync("strace", ["-f", "-e", CALLS, "-o", "/dev/null", "true"], { stdio: "pipe" });
    return true;
  } catch {
    return false;
  }
})();

beforeAll(build, 120_000);

describe.skipIf(!canTrace)("a power cut", { timeout: 300_000 }, () => {
  it("takes no commit that was answered", async () => {
    const folder = await mkdtemp(join(tmpdir(), "deckshelf-power-"));
    // Enough for the log to be put into the file more than once.
    const program = join(folder, "program.mjs");
    await writeFile(
      program,
      `import { writeSync } from "node:fs";
       import { SqliteStore } from ${JSON.stringify(resolve("dist/services/store/sqlite.js"))};
       const store = new SqliteStore(${JSON.stringify(join(folder, "kept.db"))});
       const commit = async (i) => {
         await store.commit({ checks: [], puts: [{ key: "k" + (i % 40), value: i + "x".repeat(1000 + 37 * (i % 997)) }], deletes: [] });
         writeSync(1, "done " + i + "\\n");
       };
       for (let i = 0; i < 300; i += 3) await Promise.all([commit(i), commit(i + 1), commit(i + 2)]);
       process.exit(0);`,
    );
    const trace = join(folder, "trace");
    execFileSync("strace", ["-f", "-xx", "-s", "100000", "-e", CALLS, "-o", trace, "node", program], { stdio: "pipe" });
    const rng = createRng(1);
    const newest = new Map<number, number>();
    let answered = 0;
    let trials = 0;
    await replay(trace, async (said, cut) => {
      const [, text] = /^done (\d+)/.exec(said) ?? [];
      if (text === undefined) return;
      answered++;
      const i = Number(text);
      newest.set(i % 40, Math.max(i, newest.get(i % 40) ?? 0));
      if (answered > 3 && rng.below(LONG ? 2 : 10) > 0) return;
      trials++;
      const left = await mkdtemp(join(folder, "left-"));
      for (const [path, data] of cut(rng)) await writeFile(join(left, basename(path)), data);
      const store = new SqliteStore(join(left, "kept.db"));
      for (const [key, at] of newest) {
        const record = await store.get(`k${key}`);
        expect(Number.parseInt(record?.value ?? "-1", 10), `k${key} after ${answered}`).toBeGreaterThanOrEqual(at);
      }
      await store.close();
      await rm(left, { recursive: true });
    });
    expect(answered).toBe(300);
    console.log(`power cut: ${trials} trials, ${answered} commits answered, 0 lost`);
    await rm(folder, { recursive: true, force: true });
  });
});
