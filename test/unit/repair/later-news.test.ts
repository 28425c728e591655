import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Happening, Timetable } from "../../../schemas/index.js";
import { changesText } from "../../../services/text/index.js";
import { draw, hold, type RepairResult, repair } from "../../../solver/index.js";
import { demoInForce } from "../../support/demo-in-force.js";
import { loadLp } from "../../support/lp.js";

/** More news after a repair, and news about what has changed already. The day is the demo's. */
const lp = await loadLp();
let day: DayDocuments;
let inForce: Timetable;

beforeAll(async () => {
  ({ day, inForce } = await demoInForce());
}, 120_000);

function told(at: string, happenings: readonly Happening[], table = inForce): DayDocuments {
  return { ...day, inForce: table, happenings: { format: "happenings/1", at, happenings: [...happenings] } };
}

const batchOf = (load: string): string => inForce.loads.find(({ id }) => id === load)!.batch;

const options = { iterations: 60, seed: 1, now: () => 0, lp, onlyOne: true };

function mended(morning: DayDocuments): RepairResult {
  const result = repair(morning, options);
  expect(result.breaches).toEqual([]);
  return result;
}

/** So many minutes after an instant. */
function plus(instant: string, minutes: number): string {
  return new Date(Date.parse(instant) + minutes * 60_000).toISOString().slice(0, 16);
}

const isTub = ({ item }: { item: string }): boolean => item.includes("-tub-");

const scrapped = ({ timetable }: RepairResult): string[] =>
  timetable.loads.filter((load) => load.scrapped).map(({ id }) => id);

describe("news of a morning", { timeout: 120_000 }, () => {
  it("a bench told to be slow throws nothing away that was worked there", () => {
    for (const at of ["2026-11-27T05:00", "2026-11-27T08:00"])
      for (const unit of ["weir-yard/bench-1", "weir-yard/bench-2"])
        expect(scrapped(mended(told(at, [{ kind: "slower", unit, percent: 120 }]))), `${at} ${unit}`).toEqual([]);
  });

  it("what was carried to another shelf can be carried again", () => {
    let carriedTwice = 0;
    for (const stay of inForce.tasks.filter(({ does }) => does === "retard").slice(0, 6)) {
      const first = { kind: "out-of-service" as const, unit: stay.places![0]!.unit, from: plus(stay.start, 60) };
      const once = mended(told(first.from, [first])).timetable;
      const carried = once.tasks.find(({ id }) => id === `${stay.id}-carried`);
      if (!carried) continue;
      const second = { ...first, unit: carried.places![0]!.unit, from: plus(first.from, 60) };
      const again = mended(told(second.from, [first, second], once)).timetable;
      if (again.tasks.some(({ id }) => id === `${stay.id}-carried-carried`)) carriedTwice++;
      // Told once more: it stays where it is.
      expect(mended(told(second.from, [first, second], again)).changes.same).toBe(true);
    }
    expect(carriedTwice).toBeGreaterThan(1);
  });

  it("tubs on two shelves keep both until the one that will fail does", () => {
    const spread = inForce.tasks.filter(
      ({ does, places = [] }) => does === "retard" && new Set(places.map(({ unit }) => unit)).size > 1,
    );
    expect(spread.length).toBeGreaterThan(4);
    for (const stay of spread) {
      const failing = { kind: "out-of-service" as const, unit: stay.places!.at(-1)!.unit, from: plus(stay.start, 60) };
      mended(told(plus(stay.start, 5), [failing]));
    }
  });

  it("what a failing shelf holds is carried to shelves that stand empty, and nothing is thrown away for it", () => {
    const at = "2026-11-26T22:00";
    const then = Date.parse(`${at}Z`);
    const standing = inForce.tasks.filter(
      ({ does, start, end }) => does === "retard" && Date.parse(start) < then && Date.parse(end) > then,
    );
    const units = new Set(standing.flatMap(({ places = [] }) => places.filter(isTub).map(({ unit }) => unit)));
    const walkIn = [...units].filter((unit) => unit.startsWith("weir-yard/walk-in/"));
    expect(walkIn.length).toBeGreaterThan(5);
    for (const unit of walkIn) {
      const out = { kind: "out-of-service" as const, unit, from: at };
      expect(scrapped(mended(told(at, [out]))), unit).toEqual([]);
    }
  });

  it("a bake that was carried half-baked to a deck which fails too is thrown away, and the rest is planned", () => {
    let twice = 0;
    for (const bake of inForce.tasks.filter(({ does }) => does === "bake")) {
      const first = { kind: "out-of-service" as const, unit: bake.unit!, from: plus(bake.start, 3) };
      const once = mended(told(first.from, [first])).timetable;
      const rest = once.tasks.find(({ id }) => id === `${bake.id}-2`);
      if (!rest || Date.parse(rest.end) - Date.parse(rest.start) < 3 * 60_000) continue;
      const second = { ...first, unit: rest.unit!, from: plus(rest.start, 1) };
      const result = mended(told(plus(rest.start, 2), [first, second], once));
      expect(scrapped(result)).toContain(bake.load);
      if (++twice === 3) break;
    }
    expect(twice).toBe(3);
  });

  it("a load told to be spoiled is thrown away even when it is baked, a batch only as far as it is not", () => {
    const at = "2026-11-27T05:00";
    const baked = inForce.tasks.find(({ does, end }) => does === "bake" && Date.parse(end) <= Date.parse(`${at}Z`))!;
    const load = inForce.loads.find(({ id }) => id === baked.load)!;
    const result = mended(told(at, [{ kind: "spoiled", load: load.id }]));
    expect(scrapped(result)).toEqual([load.id]);
    const short = result.timetable.orders.reduce((sum, { shortPieces }) => sum + shortPieces, 0);
    const made = result.timetable.loads.length - inForce.loads.length;
    expect(short > 0 || made > 0).toBe(true);
    expect(scrapped(mended(told(at, [{ kind: "spoiled", batch: load.batch }])))).not.toContain(load.id);
  });

  it("what is half-baked when it is told to be spoiled is not taken for baked", () => {
    let tried = 0;
    for (const bake of inForce.tasks.filter(({ does }) => does === "bake")) {
      const down = { kind: "out-of-service" as const, unit: bake.unit!, from: plus(bake.start, 3) };
      const once = mended(told(down.from, [down])).timetable;
      const rest = once.tasks.find(({ id }) => id === `${bake.id}-2`);
      if (!rest) continue;
      const { batch } = inForce.loads.find(({ id }) => id === bake.load)!;
      const result = mended(told(plus(rest.start, 0), [down, { kind: "spoiled", batch }], once));
      expect(scrapped(result)).toContain(bake.load);
      if (++tried === 3) break;
    }
    expect(tried).toBe(3);
  });

  it("an old hold binds nobody once its task has begun, is thrown away, or its unit is out of service", () => {
    const bake = inForce.tasks.find(({ does, start }) => does === "bake" && start > "2026-11-27T06:00")!;
    const held = { kind: "hold" as const, task: bake.id, start: bake.start.slice(0, 16) };
    mended(told(plus(bake.start, 20), [held, { kind: "started", task: bake.id, at: plus(bake.start, 4) }]));
    mended(told(plus(bake.start, -20), [held, { kind: "spoiled", load: bake.load! }]));
    const onUnit = { ...held, unit: bake.unit! };
    const out = { kind: "out-of-service" as const, unit: bake.unit!, from: plus(bake.start, -60) };
    const elsewhere = mended(told(plus(bake.start, -60), [onUnit, out])).timetable;
    expect(elsewhere.tasks.find(({ id }) => id === bake.id)?.unit).not.toBe(bake.unit);
    const locked = mended(told(plus(bake.start, -60), [{ kind: "lock", task: bake.id }, out]));
    expect(locked.timetable.tasks.find(({ id }) => id === bake.id)?.unit).not.toBe(bake.unit);
    // Whoever locked it is told, and it is not locked where it goes instead.
    expect(locked.changes.givenUp).toEqual([bake.id]);
    expect(locked.happenings?.happenings).toEqual([out]);
    // Another task can still be held.
    const other = inForce.tasks.find(
      ({ does, start, load }) => does === "bake" && start > "2026-11-27T08:00" && load !== bake.load,
    )!;
    const wish = { kind: "hold" as const, task: other.id, start: other.start.slice(0, 16) };
    const morning = told(plus(bake.start, 30), [held, wish]);
    expect(hold(morning, { ...options, wished: new Set([other.id]) })).not.toHaveProperty("refusals");
  });

  it("gives a lock up that news has made impossible, and says so", () => {
    // The batch that is mixed last; no mixer works any more until its first bake is to begin.
    const mixes = inForce.tasks.filter(({ does }) => does === "mix");
    const mix = mixes.reduce((a, b) => (Date.parse(b.start) > Date.parse(a.start) ? b : a));
    const bake = inForce.tasks.find(({ does, load }) => does === "bake" && batchOf(load!) === mix.batch)!;
    const at = plus(mix.start, -5);
    const mixers = day.network.sites.flatMap((site) => site.mixers.map(({ id }) => `${site.id}/${id}`));
    const lock = { kind: "lock" as const, task: bake.id };
    const out = mixers.map((unit) => ({ kind: "out-of-service" as const, unit, from: at, to: plus(bake.start, -10) }));
    const result = mended(told(at, [lock, ...out]));
    expect(result.changes.givenUp).toEqual([bake.id]);
    expect(result.happenings?.happenings).toEqual(out);
    expect(changesText(day, inForce, result.timetable, result.changes)).toContain(`held or locked`);
  });

  it("throws nothing away for a hold that nothing leads to: it is given up", () => {
    // Its proof is under way, and ends hours before.
    const bake = inForce.tasks.find(({ does, start }) => does === "bake" && start > "2026-11-27T06:00")!;
    const held = { kind: "hold" as const, task: bake.id, start: plus(bake.start, 240) };
    const result = mended(told(plus(bake.start, -5), [held]));
    expect(scrapped(result)).toEqual([]);
    expect(result.changes.givenUp).toEqual([bake.id]);
    expect(result.happenings?.happenings).toEqual([]);
    // Spoiled, it is thrown away whatever was wished.
    const spoiled = { kind: "spoiled" as const, load: bake.load! };
    expect(scrapped(mended(told(plus(bake.start, -5), [held, spoiled])))).toEqual([bake.load]);
  });

  it("tells the cost anew when only that has changed", () => {
    const line = day.orders.lines[0]!;
    const early = { ...line, due: "2026-11-26T18:00", pieces: 4 };
    const small = { ...day, orders: { ...day.orders, lines: [early, ...day.orders.lines.slice(1, 8)] } };
    const { timetable } = draw(small, { iterations: 60, seed: 1, now: () => 0, lp });
    expect(timetable.orders.some(({ state }) => state === "late")).toBe(true);
    const happenings = [{ kind: "order-changed" as const, line: line.id, priority: 3 as const }];
    const morning = {
      ...small,
      inForce: timetable,
      happenings: { format: "happenings/1" as const, at: "2026-11-27T09:00", happenings },
    };
    const result = mended(morning);
    expect(result.timetable.cost.total).toBeGreaterThan(timetable.cost.total);
  });

  it("draws up again from what is in force, and finds better or the same", () => {
    const morning = told("2026-11-26T14:00", []);
    expect(repair(morning, options).timetable).toBe(inForce);
    const again = draw(morning, { ...options, iterations: 600 });
    expect(again.breaches).toEqual([]);
    expect(again.iterations).toBeGreaterThan(400);
    expect(again.timetable.cost.total).toBeLessThanOrEqual(inForce.cost.total);
  });
});
