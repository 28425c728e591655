import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Timetable } from "../../../schemas/index.js";
import { readDayFolder } from "../../../services/day-folder.js";
import { BoundBoard } from "../../../services/solving/bound-board.js";
import { bounds, draw, fingerprint, pose, quickBound } from "../../../solver/index.js";
import { build, deckshelf } from "../../support/built.js";
import { loadLp } from "../../support/lp.js";

beforeAll(build, 120_000);
const lp = await loadLp();

async function ordinaryDay(): Promise<DayDocuments> {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  return read.day;
}

/** The demo with one line only, of a few pieces, that is made where it is sold. */
async function oneLine(): Promise<DayDocuments> {
  const day = await ordinaryDay();
  const { network, catalogue, orders } = day;
  const line = orders.lines.find(({ site, product }) => {
    const { routes } = catalogue.products.find(({ id }) => id === product)!;
    const isBoiled = routes.some(({ steps }) => steps.some(({ does }) => does === "boil"));
    return !isBoiled && network.sites.find(({ id }) => id === site)!.mixers.length > 0;
  })!;
  return { ...day, orders: { ...day.orders, lines: [line] } };
}

describe("a bound with the timetable", { timeout: 60_000 }, () => {
  it("ends the search when it proves the plan, and says so", async () => {
    const day = await oneLine();
    const iterations = 800;
    const bound = (problem: Parameters<typeof quickBound>[0]) => {
      const value = quickBound(problem, lp);
      return () => value;
    };
    const { timetable, ...result } = draw(day, { iterations, seed: 1, now: () => 0, lp, bound });
    expect(timetable.bound!).toBeLessThanOrEqual(timetable.cost.total);
    expect(timetable.cost.total - timetable.bound!).toBeLessThanOrEqual(0.005);
    expect(timetable.cost.total).toBeGreaterThan(0.1);
    expect(timetable.status).toBe("optimal");
    expect(result.iterations).toBeLessThan(iterations);
    const without = draw(day, { iterations, seed: 1, now: () => 0, lp });
    expect(without.timetable.bound).toBeUndefined();
    expect(without.timetable.status).toBe("feasible");
    expect(without.iterations).toBeGreaterThanOrEqual(iterations);
  });

  it("counts what cannot be made at all: a line that no site makes costs its short pieces", async () => {
    const day = await oneLine();
    const [line] = day.orders.lines;
    const sites = day.network.sites.map((site) => ({ ...site, mixers: [] }));
    const shut = { ...day, network: { ...day.network, sites } };
    const problem = pose(shut, lp);
    expect(problem.loads.length).toBe(0);
    const perPiece = problem.index.weights.shortPerPiece;
    expect(quickBound(problem, lp)).toBeCloseTo(line!.pieces * (line!.priority ?? 1) * perPiece, 9);
  });

  it("grows from one to the next", async () => {
    const day = await oneLine();
    const found = [...bounds(pose(day, lp), lp)];
    expect(found.length).toBeGreaterThan(1);
    for (let i = 1; i < found.length; i++) expect(found[i]!).toBeGreaterThan(found[i - 1]!);
  });

  it("is for the batches and loads that it was found for, and no others", async () => {
    const day = await ordinaryDay();
    const problem = pose(day, lp);
    const again = pose(structuredClone(day), lp);
    expect(fingerprint(again)).toBe(fingerprint(problem));
    const other = pose({ ...day, orders: { ...day.orders, lines: day.orders.lines.slice(1) } }, lp);
    expect(fingerprint(other)).not.toBe(fingerprint(problem));
    const board = new BoundBoard();
    expect(board.read(fingerprint(problem))).toBeUndefined();
    board.write(fingerprint(problem), 12.3456789);
    expect(new BoundBoard(board.memory).read(fingerprint(problem))).toBe(12.345678);
    expect(board.read(fingerprint(other))).toBeUndefined();
    board.write(fingerprint(problem), 0);
    expect(board.read(fingerprint(problem))).toBe(0);
  });

  it("comes from a thread beside the search when the budget is in seconds", async () => {
    const folder = await mkdtemp(join(tmpdir(), "deckshelf-bound-"));
    const day = await oneLine();
    for (const name of ["network", "catalogue", "settings", "orders"] as const)
      await writeFile(join(folder, `${name}.json`), JSON.stringify(day[name]));
    const { stdout } = await deckshelf(["draw", folder, "--seconds", "50", "--json", "--quiet"]);
    expect((JSON.parse(stdout) as Timetable).status).toBe("optimal");
    await rm(folder, { recursive: true });
  });
});
