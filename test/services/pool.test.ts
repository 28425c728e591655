import { beforeAll, expect, it } from "vitest";
import { build } from "../support/built.js";

/** Threads start from what is built. */
type Pool = typeof import("../../services/solving/pool.js");

const INPUT = { dayTexts: {}, requestText: "{}" } as never;

beforeAll(build, 60_000);

it("solver threads that are closed answer everybody, also those who waited for a thread", async () => {
  const { SolverPool } = (await import("../../dist/services/solving/pool.js" as string)) as Pool;
  const pool = new SolverPool(1);
  const asked = [1, 2, 3, 4].map(() =>
    pool.runTexts("verify", INPUT).then(
      () => "answered",
      (error: Error) => error.message,
    ),
  );
  await pool.close();
  const [first, ...waited] = await Promise.all(asked);
  expect(first).toMatch(/^the solver ended without an answer/);
  expect(waited).toEqual(Array(3).fill("the solver threads are closed"));
  await expect(pool.runTexts("verify", INPUT)).rejects.toThrow("are closed");
}, 20_000);
