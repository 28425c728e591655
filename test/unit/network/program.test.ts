import { describe, expect, it } from "vitest";
import type { DayDocuments, Timetable } from "../../../schemas/index.js";
import { readDayFolder } from "../../../services/day-folder.js";
import { planOf } from "../../../solver/balance/wishes.js";
import { createSmallEngine, draw, loadHighs } from "../../../solver/index.js";
import { balanceFlows } from "../../../solver/network/balance.js";
import { leastWithin, type Use } from "../../../solver/network/needs.js";
import { NetworkProgram } from "../../../solver/network/program.js";
import { indexDay } from "../../../solver/problem/day-index.js";
import { createRng } from "../../../solver/rng.js";
import { randomDay } from "../../days/random-day.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();
const large = await loadHighs();
const small = createSmallEngine(() => performance.now());

async function demo(name: string): Promise<DayDocuments> {
  const read = await readDayFolder(`services/demo/${name}`);
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  return read.day;
}

describe("the network program", () => {
  it("has the same optimum by both engines on small networks", { timeout: 60_000 }, () => {
    let compared = 0;
    for (let seed = 1; seed <= 60 && compared < 12; seed++) {
      const day = randomDay(seed, "tiny");
      if (day.orders.lines.length === 0) continue;
      const program = new NetworkProgram(indexDay(day), { stepMinutes: 120 });
      if (program.columns.length === 0 || program.columns.length > 60) continue;
      const pieces = program.families.map((family) => family.pieces * 3);
      const ask = () =>
        program.build({ pieces, shortCost: () => 1, whole: "all", cost: (column) => column.bakeFrom / 10_000 });
      const first = large.solve(ask().model, { seconds: 5 });
      if (first.status !== "optimal") throw new Error(first.status);
      program.separate(ask().read(first.columns));
      const { model } = ask();
      if (model.rowCount > 120) continue;
      const a = large.solve(model, { seconds: 5 });
      const b = small.solve(model, { seconds: 5 });
      if (a.status !== "optimal" || b.status !== "optimal") continue;
      compared++;
      expect(b.objective, `seed ${seed}`).toBeCloseTo(a.objective, 4);
    }
    expect(compared).toBeGreaterThanOrEqual(8);
  });

  it("makes what is wanted, no more than the vans carry, and what the sites have room for: added up again", {
    timeout: 60_000,
  }, async () => {
    const day = await demo("ordinary-day");
    const index = indexDay(day);
    const { program, point, short, isSolved } = balanceFlows(index, { lp });
    expect(isSolved).toBe(true);
    const made = program.families.map(() => 0);
    const riding = new Map<string, number>();
    program.columns.forEach(({ family, chain }, c) => {
      const pieces = point.pieces[c]!;
      expect(pieces).toBeGreaterThan(-1e-6);
      made[family]! += pieces;
      const { trip, handOver } = chain.way;
      if (!trip) return;
      // A full pan a position, a tub as many as its type says: from the documents.
      const product = day.catalogue.products.find(({ id }) => id === program.families[family]!.product)!;
      const tub = day.network.tubTypes.find(
        ({ id }) => id === day.catalogue.doughs.find((own) => own.id === product.dough)!.tubType,
      );
      const positions =
        handOver === "tubs"
          ? (pieces * chain.tubRate + point.spare.tub[c]!) * (tub?.vanPositions ?? 1)
          : pieces * chain.panRate + point.spare.pan[c]!;
      riding.set(trip.id, (riding.get(trip.id) ?? 0) + positions);
    });
    program.families.forEach((family, f) => {
      expect(made[f]! + short[f]!, family.product).toBeGreaterThanOrEqual(family.pieces - 1e-4);
    });
    for (const trip of index.trips) expect(riding.get(trip.id) ?? 0).toBeLessThanOrEqual(trip.run.positions + 1e-4);
    // Every half-hour of every pool: what is taken there at the least, minute by minute, is there.
    for (const [number, pool] of program.pools.entries()) {
      for (let from = 0; from + 60 <= index.horizon; from += 60) {
        let taken = 0;
        program.columns.forEach(({ uses, chain }, c) => {
          for (const use of uses) {
            if (use.pool !== number) continue;
            const rate = use.per === "pan" ? chain.panRate : use.per === "tub" ? chain.tubRate : 1;
            const spare = use.per === "piece" ? 0 : point.spare[use.per][c]! / rate;
            taken += leastWithin(use, from, from + 60) * (point.pieces[c]! + spare);
          }
        });
        let there = 0;
        for (let t = from; t < from + 60; t++) there += pool.line[t]!;
        expect(taken, `${pool.id} at ${from}`).toBeLessThanOrEqual(there * 1.001 + 0.5);
      }
    }
  });

  it("makes no more than is ordered to keep a wished share", { timeout: 60_000 }, async () => {
    const index = indexDay(await demo("ordinary-day"));
    const shareOf = (leastPercent: number) =>
      balanceFlows(index, {
        lp,
        ...planOf(index, [{ kind: "share", site: "quay-shop", leastPercent, mostPercent: 100 }]),
      });
    const { program, point, isSolved } = shareOf(10);
    expect(isSolved).toBe(true);
    const made = program.families.map(() => 0);
    program.columns.forEach(({ family }, c) => {
      made[family]! += point.pieces[c]!;
    });
    program.families.forEach(({ pieces, product }, f) => {
      expect(made[f]!, product).toBeLessThanOrEqual(pieces + 1e-4);
    });
    expect(shareOf(99).isSolved).toBe(false);
  });

  it("the least that is taken in an interval is the least over all starts and lengths", () => {
    const rng = createRng(7);
    const overlap = (start: number, end: number, from: number, to: number) =>
      Math.max(0, Math.min(end, to) - Math.max(start, from));
    for (let i = 0; i < 400; i++) {
      const startFrom = rng.below(60);
      const startTo = startFrom + rng.below(40);
      const least = rng.below(50);
      const endFrom = Math.max(startFrom + least, startFrom + rng.below(80));
      const endTo = Math.max(endFrom, startTo + least) + rng.below(40);
      const from = rng.below(120);
      const to = from + 1 + rng.below(80);
      const common = { pool: 0, per: "piece" as const, startFrom, startTo, endFrom, endTo };
      const stay: Use = { ...common, sizes: null, leastMinutes: least, perPiece: 1 };
      let brute = Number.POSITIVE_INFINITY;
      for (let s = startFrom; s <= startTo; s++)
        for (let e = Math.max(endFrom, s + least); e <= Math.max(endTo, s + least); e++)
          brute = Math.min(brute, overlap(s, e, from, to));
      expect(leastWithin(stay, from, to), JSON.stringify({ stay, from, to })).toBeLessThanOrEqual(brute + 1e-9);
      expect(leastWithin(stay, from, to), JSON.stringify({ stay, from, to })).toBeGreaterThanOrEqual(brute - 1e-9);
      const minutes = 1 + rng.below(30);
      const task: Use = {
        ...common,
        endFrom: startFrom + minutes,
        endTo: startTo + minutes,
        sizes: [{ minutes, perPiece: 1 }],
        leastMinutes: 0,
        perPiece: 0,
      };
      let least2 = Number.POSITIVE_INFINITY;
      for (let s = startFrom; s <= startTo; s++) least2 = Math.min(least2, overlap(s, s + minutes, from, to));
      expect(leastWithin(task, from, to)).toBe(least2);
    }
  });

  it("every load of a verified timetable that is on time lies in one of the columns, each step within its limits", {
    timeout: 60_000,
  }, () => {
    let loads = 0;
    for (let seed = 1; seed <= 24; seed++) {
      const day = randomDay(seed, "small");
      const { timetable, breaches } = draw(day, { iterations: 20, seed, now: () => 0, lp });
      if (breaches.length > 0) continue;
      loads += withinColumns(day, timetable, seed);
    }
    expect(loads).toBeGreaterThan(35);
  });
});

/** Checks every load; how many were on time and looked at. */
function withinColumns(day: DayDocuments, timetable: Timetable, seed: number): number {
  const index = indexDay(day);
  const program = new NetworkProgram(index);
  const minute = (instant: string): number => Date.parse(instant) / 60_000 - index.origin;
  let checked = 0;
  for (const load of timetable.loads) {
    const mix = timetable.tasks.find((task) => task.batch === load.batch && task.does === "mix")!;
    const own = timetable.tasks.filter((task) => task.load === load.id);
    const delivered = Math.max(...own.map((task) => minute(task.end)));
    const ride = own.find((task) => task.does === "van")?.van;
    const bake = minute(own.find((task) => task.does === "bake")!.start);
    for (const { line } of load.orders) {
      const family = program.families.findIndex(({ wants }) => wants.some((want) => want.line.id === line));
      if (delivered > program.families[family]!.due) continue;
      const column = program.columns.find(
        ({ family: f, chain: { way }, bakeFrom, bakeTo }) =>
          f === family &&
          way.route.id === load.route &&
          way.mixSite === mix.site &&
          way.bakeSite === load.bakedAt &&
          (way.handOver ?? undefined) === load.handOver &&
          way.trip?.id === ride &&
          bakeFrom <= bake &&
          bake <= bakeTo,
      );
      expect(column, `seed ${seed} ${load.id}`).toBeDefined();
      column!.chain.links.forEach((link, i) => {
        const tasks = link.does === "mix" ? [mix] : own.filter((task) => task.does === link.does);
        const start = Math.min(...tasks.map((task) => minute(task.start)));
        const end = Math.max(...tasks.map((task) => minute(task.end)));
        const { startFrom, startTo, endFrom, endTo } = column!.windows;
        expect(start, `seed ${seed} ${load.id} ${link.does}`).toBeGreaterThanOrEqual(startFrom[i]!);
        expect(start, `seed ${seed} ${load.id} ${link.does}`).toBeLessThanOrEqual(startTo[i]!);
        expect(end, `seed ${seed} ${load.id} ${link.does}`).toBeGreaterThanOrEqual(endFrom[i]!);
        expect(end, `seed ${seed} ${load.id} ${link.does}`).toBeLessThanOrEqual(endTo[i]!);
      });
      checked++;
    }
  }
  return checked;
}
