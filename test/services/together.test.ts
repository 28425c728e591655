import { once } from "node:events";
import { Worker } from "node:worker_threads";
import { beforeAll, describe, expect, it } from "vitest";
import { SharedLog } from "../../services/solving/shared-log.js";
import type { DrawResult } from "../../solver/index.js";
import { createRng } from "../../solver/rng.js";
import { checkCore } from "../bench/core/checker.js";
import type { CoreInstance } from "../bench/core/format.js";
import { heldOut } from "../bench/core/generate.js";
import type { CoreRun, CoreTask } from "../bench/core/solve.js";
import { realisticDay } from "../bench/days/realistic-day.js";
import { build } from "../support/built.js";

/** Threads start from what is built. */
type Pool = typeof import("../../services/solving/pool.js");

const KILLS = process.env.DECKSHELF_LONG === "1" ? 200 : 6;

interface Lane {
  readonly worker: Worker;
  readonly run: Promise<CoreRun | undefined>;
}

/** A search in a thread of its own; undefined when the thread was ended. */
async function start(
  instance: CoreInstance,
  seed: number,
  seconds: number,
  log: SharedArrayBuffer,
  delayMs = 0,
): Promise<Lane> {
  const worker = new Worker(new URL("../../dist/test/bench/core/solve.js", import.meta.url));
  await once(worker, "message");
  if (delayMs > 0) await new Promise((resolve) => setTimeout(resolve, delayMs));
  const answered = once(worker, "message").then(([run]) => run as CoreRun);
  const ended = once(worker, "exit").then(() => undefined);
  worker.postMessage({ instance, seed, seconds, isProfiled: false, log } satisfies CoreTask);
  return { worker, run: Promise.race([answered, ended]) };
}

describe("threads that search one plan together", () => {
  beforeAll(build);

  // A machine that stands still for a while keeps them apart.
  it("each end with a plan that passes the set's own rules", { retry: 2 }, async () => {
    const instance = heldOut("L", 3);
    const memory = SharedLog.memory();
    const lanes = await Promise.all([start(instance, 1, 3, memory), start(instance, 2, 3, memory)]);
    const runs = await Promise.all(lanes.map(({ run }) => run));
    for (const run of runs) expect(checkCore(instance, run!.solution)).toEqual([]);
    const { searches, welcomed, words } = new SharedLog(memory).counts;
    expect([searches, welcomed]).toEqual([2, 1]);
    expect(words).toBeGreaterThan(10_000);
    for (const { worker } of lanes) await worker.terminate();
  });

  it(`go on when one of them is ended at any moment, ${KILLS} times`, { timeout: 20_000 * KILLS }, async () => {
    const rng = createRng(1);
    const instance = heldOut("L", 4);
    for (let kill = 0; kill < KILLS; kill++) {
      const memory = SharedLog.memory(1 << 16);
      const [first, second] = await Promise.all([start(instance, 1, 1.2, memory), start(instance, 2, 1.2, memory)]);
      await new Promise((resolve) => setTimeout(resolve, 100 + rng.below(1000)));
      await second.worker.terminate();
      const run = await first.run;
      expect(checkCore(instance, run!.solution), `kill ${kill}`).toEqual([]);
      await first.worker.terminate();
    }
  });

  it("draw up a day of some hundred loads", { retry: 2 }, async () => {
    const { SolverPool } = (await import("../../dist/services/solving/pool.js" as string)) as Pool;
    const pool = new SolverPool(2);
    const day = realisticDay(3, 200);
    const log = SharedLog.memory();
    const drawn = await Promise.all(
      [1, 2].map((seed) => pool.run("draw", day, { seconds: 4, seed }, { log }) as Promise<DrawResult>),
    );
    await pool.close();
    for (const { breaches } of drawn) expect(breaches).toEqual([]);
    const { searches, welcomed, words } = new SharedLog(log).counts;
    expect([searches, welcomed]).toEqual([2, 1]);
    expect(words).toBeGreaterThan(10_000);
  });
});
