import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Happening, Timetable } from "../../../schemas/index.js";
import { validateDocument } from "../../../schemas/validate.js";
import { changesText } from "../../../services/text/index.js";
import {
  applyScenario,
  draw,
  drift,
  hold,
  type RepairResult,
  repair,
  replay,
  verify,
  withRemedies,
} from "../../../solver/index.js";
import { demoInForce } from "../../support/demo-in-force.js";
import { loadLp } from "../../support/lp.js";

const AT = "2026-11-27T05:00";
/** The deck that bakes most between five and half past seven. */
let deck = "";
const lp = await loadLp();
let day: DayDocuments;
let inForce: Timetable;

beforeAll(async () => {
  ({ day, inForce } = await demoInForce());
  const bakes = inForce.tasks.filter(
    ({ does, unit, start }) =>
      does === "bake" && /^weir-yard\/.*\/deck-/.test(unit ?? "") && start > `${AT}` && start < "2026-11-27T07:30",
  );
  const count = (unit: string | undefined): number => bakes.filter((bake) => bake.unit === unit).length;
  deck = bakes.map(({ unit }) => unit!).sort((a, b) => count(b) - count(a) || (a < b ? -1 : 1))[0]!;
}, 120_000);

function morning(happenings: readonly Happening[], at = AT): DayDocuments {
  return { ...day, inForce, happenings: { format: "happenings/1", at, happenings: [...happenings] } };
}

function mended(told: DayDocuments, iterations = 160): RepairResult {
  const result = repair(told, { iterations, seed: 1, now: () => 0, lp });
  expect(result.breaches).toEqual([]);
  expect(validateDocument("timetable", result.timetable)).toEqual([]);
  return result;
}

/** A third of the orders, so that decks have room. */
function lightDay(seed: number): { light: DayDocuments; plan: Timetable } {
  const light = { ...day, orders: { ...day.orders, lines: day.orders.lines.filter((_, i) => i % 3 === 0) } };
  return { light, plan: draw(light, { iterations: 60, seed, now: () => 0, lp }).timetable };
}

const down = (): Happening => ({ kind: "out-of-service", unit: deck, from: AT, to: "2026-11-27T07:30" });

describe("a morning of the demo day", { timeout: 120_000 }, () => {
  it("without news changes nothing, byte for byte", () => {
    const { timetable, changes } = mended(morning([]));
    expect(JSON.stringify(timetable)).toBe(JSON.stringify(inForce));
    expect(changes.same).toBe(true);
    expect(drift(morning([])).holds).toBe(true);
  });

  it("with a deck down keeps what has begun, moves little, and says what changed", () => {
    const told = morning([down()]);
    const { timetable, changes } = mended(told);
    const at = Date.parse(`${AT}:00Z`);
    const now = new Map(timetable.tasks.map((task) => [task.id, task]));
    for (const task of inForce.tasks) {
      if (task.does === "clean" || Date.parse(task.end) >= at) continue;
      expect(now.get(task.id), task.id).toEqual(task);
    }
    for (const task of timetable.tasks)
      if (task.unit === deck && Date.parse(task.end) > at)
        expect(Date.parse(task.start)).toBeGreaterThanOrEqual(Date.parse("2026-11-27T07:30:00Z"));
    expect(changes.counts.moved).toBeGreaterThan(0);
    expect(changes.counts.moved).toBeLessThan(changes.counts.kept);
    for (const { changes: own } of changes.stations) {
      const minutes = own.map(({ inMinutes }) => inMinutes);
      expect(minutes).toEqual([...minutes].sort((a, b) => a - b));
    }
    const text = changesText(told, inForce, timetable, changes);
    for (const { line } of changes.orders) expect(text).toContain(line);
    expect(drift(told).holds).toBe(false);
  });

  it("is repaired when it is drawn up again", () => {
    const { timetable, breaches } = draw(morning([down()]), { iterations: 32, seed: 1, now: () => 0, lp });
    expect(breaches).toEqual([]);
    const begun = inForce.tasks.find((task) => task.does === "mix")!;
    expect(timetable.tasks.find(({ id }) => id === begun.id)).toEqual(begun);
  });

  it("repaired twice is repaired once", () => {
    const once = mended(morning([down()])).timetable;
    const twice = mended({ ...morning([down()]), inForce: once });
    expect(JSON.stringify(twice.timetable)).toBe(JSON.stringify(once));
  });

  it("is the same for an outage told as two that follow each other", () => {
    const first: Happening = { ...down(), to: "2026-11-27T06:00" } as Happening;
    const second: Happening = { ...down(), from: "2026-11-27T06:00" } as Happening;
    expect(mended(morning([first, second])).timetable).toEqual(mended(morning([down()])).timetable);
  });

  it("moves less when moves are dear", () => {
    const with_ = (moveCost: number): number => {
      const told = morning([down()]);
      return mended({ ...told, settings: { ...told.settings, repair: { moveCost } } }).changes.counts.moved;
    };
    expect(with_(50)).toBeLessThanOrEqual(with_(0));
  });

  it("finishes a bake on another deck, or there, as its route says", () => {
    const withRule = (ifInterrupted: "finish-elsewhere" | "finish-there"): DayDocuments["catalogue"] => ({
      ...day.catalogue,
      products: day.catalogue.products.map((product) => ({
        ...product,
        routes: product.routes.map((route) => ({
          ...route,
          steps: route.steps.map((step) =>
            step.does === "bake" ? { ...step, ifInterrupted, interruptMinutes: 120 } : step,
          ),
        })),
      })),
    });
    // Decks have room; so much time that a cold one can be lit.
    const { light, plan } = lightDay(1);
    let split = 0;
    for (const bake of plan.tasks.filter((task) => task.does === "bake").slice(3, 12)) {
      const failed = new Date(Date.parse(bake.start) + 4 * 60_000).toISOString().replace(".000Z", "Z");
      const happenings: Happening[] = [{ kind: "out-of-service", unit: bake.unit!, from: failed }];
      const told = { ...light, inForce: plan, happenings: { format: "happenings/1" as const, at: failed, happenings } };
      const there = mended({ ...told, catalogue: withRule("finish-there") }, 0).timetable;
      expect(there.tasks.find(({ id }) => id === bake.id)).toEqual(bake);
      const elsewhere = { ...told, catalogue: withRule("finish-elsewhere") };
      const { timetable } = mended(elsewhere, 16);
      if (!timetable.tasks.some(({ id }) => id === `${bake.id}-2`)) continue;
      split++;
      expect(mended({ ...elsewhere, inForce: timetable }, 16).timetable).toBe(timetable);
      if (split === 2) break;
    }
    expect(split).toBeGreaterThan(0);
  });

  it("lets a cleaning be finished when its unit fails meanwhile", () => {
    const clean = inForce.tasks.find(({ does }) => does === "clean")!;
    const at = new Date(Date.parse(clean.start) + 2 * 60_000).toISOString().replace(".000Z", "Z");
    const { timetable } = mended(morning([{ kind: "out-of-service", unit: clean.unit!, from: at }], at), 4);
    expect(timetable.tasks.find(({ id }) => id === clean.id)).toEqual(clean);
  });

  it("goes by the demo's own rules when a deck fails in the midst of a bake", () => {
    const stepOf = (load: Timetable["loads"][number]) =>
      day.catalogue.products
        .find(({ id }) => id === load.product)!
        .routes.find(({ id }) => id === load.route)!
        .steps.find((step) => step.does === "bake") as { ifInterrupted?: string; interruptMinutes?: number };
    const ms = (task: { start: string } | undefined): number => Date.parse(task!.start);
    const seen = { scrap: 0, "finish-there": 0, "finish-elsewhere": 0, split: 0 };
    const fail = (whole: DayDocuments, plan: Timetable): void => {
      const bakes = plan.tasks.filter(({ does }) => does === "bake");
      const loads = new Map(plan.loads.map((load) => [load.id, load]));
      // Where another deck was just used at the temperature and is free for a while, the rest can be baked there.
      const decks = new Map<string, typeof bakes>();
      for (const bake of [...bakes].sort((a, b) => ms(a) - ms(b)))
        decks.set(bake.unit!, [...(decks.get(bake.unit!) ?? []), bake]);
      const beside = (bake: (typeof bakes)[number]): number =>
        [...decks].filter(([unit, own]) => {
          const last = own.filter((one) => ms(one) <= ms(bake)).at(-1);
          const next = own.find((one) => ms(one) > ms(bake));
          if (unit === bake.unit || last?.site !== bake.site || last.tempC !== bake.tempC) return false;
          const free = Date.parse(last.end);
          return (
            free <= ms(bake) + 9 * 60_000 && free > ms(bake) - 40 * 60_000 && (!next || ms(next) > Date.parse(bake.end))
          );
        }).length;
      let tried = 0;
      for (const bake of [...bakes].sort((a, b) => beside(b) - beside(a) || ms(b) - ms(a))) {
        const { ifInterrupted = "scrap", interruptMinutes = 5 } = stepOf(loads.get(bake.load!)!);
        const rule = ifInterrupted as "scrap" | "finish-there" | "finish-elsewhere";
        if (seen[rule] > 0 && (rule !== "finish-elsewhere" || seen.split > 0 || tried >= 6)) continue;
        seen[rule]++;
        if (rule === "finish-elsewhere") tried++;
        const cut = ms(bake) + 4 * 60_000;
        const at = new Date(cut).toISOString().replace(".000Z", "Z");
        const out: Happening = { kind: "out-of-service", unit: bake.unit!, from: at };
        const told = {
          ...whole,
          inForce: plan,
          happenings: { format: "happenings/1" as const, at, happenings: [out] },
        };
        const { timetable } = mended(told, 4);
        const now = timetable.loads.find(({ id }) => id === bake.load)!;
        const rest = timetable.tasks.find(({ id }) => id === `${bake.id}-2`);
        if (rule === "finish-there") expect(timetable.tasks.find(({ id }) => id === bake.id)).toEqual(bake);
        else if (rule === "scrap") expect(now.scrapped?.why).toContain("failed during its bake");
        else if (rest) {
          seen.split++;
          expect(rest.unit).not.toBe(bake.unit);
          expect(rest.tempC).toBe(bake.tempC);
          expect(ms(rest)).toBeLessThanOrEqual(cut + interruptMinutes * 60_000);
          expect(now.scrapped).toBeUndefined();
        } else expect(now.scrapped?.why).toContain("no room in time");
      }
    };
    fail(day, inForce);
    // A full day may have no deck that is free at once; then one with room is looked for.
    for (let seed = 1; seed <= 5 && seen.split === 0; seed++) {
      const { light, plan } = lightDay(seed);
      fail(light, plan);
    }
    for (const [what, count] of Object.entries(seen)) expect(count, what).toBeGreaterThan(0);
  });

  it("says what would help late orders, and a repair of the changed morning bears it out", () => {
    const told = morning([{ kind: "out-of-service", unit: "weir-yard/oven-1", from: AT, to: "2026-11-27T09:00" }]);
    const budget = { iterations: 12, seed: 1, now: () => 0, lp };
    const found = mended(told, 12);
    const changes = withRemedies(told, found, budget, repair);
    expect(changes.remediesTried).toBeGreaterThan(2);
    const helped = changes.orders.filter(({ remedy }) => remedy);
    expect(helped.length).toBeGreaterThan(0);
    const solved = new Map<string, Timetable>();
    for (const { line, after, remedy } of helped) {
      const { changes: made, mends, lateMinutes, shortPieces } = remedy!;
      expect(made.some((one) => one.kind === "move-due" && one.of?.lines?.includes(line))).toBe(false);
      expect(lateMinutes + shortPieces).toBeLessThan(after!.lateMinutes + after!.shortPieces);
      expect(mends).toBe(lateMinutes === 0 && shortPieces === 0);
      const key = JSON.stringify(made);
      if (!solved.has(key)) {
        const applied = applyScenario(told, { format: "scenario/1", name: "again", changes: made as never });
        if ("issues" in applied) throw new Error("a remedy that cannot be made");
        const { timetable, breaches } = repair(applied.day, { ...budget, onlyOne: true });
        expect(breaches).toEqual([]);
        expect(verify(applied.day, timetable)).toEqual([]);
        solved.set(key, timetable);
      }
      const order = solved.get(key)!.orders.find((one) => one.line === line)!;
      expect([order.lateMinutes, order.shortPieces], line).toEqual([lateMinutes, shortPieces]);
    }
    const text = changesText(told, inForce, found.timetable, changes);
    expect(text).toContain(helped[0]!.remedy!.text);
    // Nothing late, nothing asked.
    const quiet = mended(morning([]));
    expect(withRemedies(morning([]), quiet, budget, repair)).toBe(quiet.changes);
  });

  it("leaves other sites alone when it is told to", () => {
    const told = morning([{ kind: "out-of-service", unit: "quay-shop/oven-1/deck-1", from: AT }]);
    const { timetable } = mended({ ...told, settings: { ...told.settings, repair: { locality: "site" } } });
    const quay = new Set(inForce.tasks.flatMap((task) => (task.site === "quay-shop" && task.load ? [task.load] : [])));
    const now = new Map(timetable.tasks.map((task) => [task.id, task]));
    for (const task of inForce.tasks) {
      if (task.load === undefined || quay.has(task.load)) continue;
      expect([now.get(task.id)?.start, now.get(task.id)?.unit], task.id).toEqual([task.start, task.unit]);
    }
  });

  it("takes an added order in and lets a cancelled one go", () => {
    const line = { id: "more", product: "choc-cookie", pieces: 12, site: "weir-yard", due: "2026-11-27T12:00" };
    const { timetable } = mended(
      morning([
        { kind: "order-added", line },
        { kind: "order-cancelled", line: "line-013" },
      ]),
    );
    expect(timetable.orders.find((order) => order.line === "more")).toBeDefined();
    expect(timetable.orders.some((order) => order.line === "line-013")).toBe(false);
  });

  it("throws a spoiled batch away and says so", () => {
    const at = Date.parse(`${AT}:00Z`);
    const bake = inForce.tasks.find((task) => task.does === "bake" && Date.parse(task.start) > at + 30 * 60_000)!;
    const load = inForce.loads.find(({ id }) => id === bake.load)!;
    const { timetable, changes } = mended(morning([{ kind: "spoiled", load: load.id }]));
    const now = timetable.loads.find(({ id }) => id === load.id)!;
    expect(now.scrapped?.why).toContain("spoiled");
    expect(now.orders).toEqual([]);
    expect(changes.scrapped.map((entry) => entry.load)).toContain(load.id);
  });

  it("holds a task where the planner wants it, or says why not and when", () => {
    const at = Date.parse(`${AT}:00Z`);
    const bake = inForce.tasks.find((task) => task.does === "bake" && Date.parse(task.start) > at + 60 * 60_000)!;
    const held = hold(morning([{ kind: "hold", task: bake.id, start: bake.start }]), {
      iterations: 32,
      seed: 1,
      now: () => 0,
      lp,
    });
    if ("refusals" in held) throw new Error("what is in force can be held");
    expect(held.breaches).toEqual([]);
    const refused = hold(morning([{ kind: "hold", task: bake.id, start: "2026-11-27T13:40" }]), {
      iterations: 32,
      seed: 1,
      now: () => 0,
      lp,
    });
    if (!("refusals" in refused)) throw new Error("a bake that ends after the window cannot be held");
    const [refusal] = refused.refusals;
    expect(refusal!.rule).toMatch(/^R\d+$/);
    expect(refusal!.nearest.length).toBeGreaterThan(0);
    // The nearest time works.
    const again = hold(morning([{ kind: "hold", task: bake.id, start: refusal!.nearest[0]! }]), {
      iterations: 32,
      seed: 1,
      now: () => 0,
      lp,
    });
    if ("refusals" in again) throw new Error("the nearest time does not work");
    expect(again.breaches).toEqual([]);
    const begun = inForce.tasks.find((task) => task.does === "bake" && Date.parse(task.start) < at)!;
    const past = hold(morning([{ kind: "hold", task: begun.id, start: "2026-11-27T06:00" }]), {
      iterations: 32,
      seed: 1,
      now: () => 0,
      lp,
    });
    expect("refusals" in past && past.refusals[0]!.rule).toBe("R14");
  });

  it("moves a mix by five minutes though another batch has the mixer then, or says why not", () => {
    const noon = "2026-11-26T12:00";
    let moved = 0;
    for (const mix of inForce.tasks.filter((task) => task.does === "mix")) {
      const start = new Date(Date.parse(mix.start) + 5 * 60_000).toISOString().slice(0, 16);
      const result = hold(morning([{ kind: "hold", task: mix.id, start }], noon), {
        iterations: 16,
        seed: 1,
        now: () => 0,
        lp,
        onlyOne: true,
      });
      if ("refusals" in result) continue;
      expect(result.breaches, mix.id).toEqual([]);
      moved++;
    }
    expect(moved).toBeGreaterThan(5);
  });

  it("is played to the same chances by the same seed", () => {
    const played = replay(day, inForce, { runs: 200, seed: 3 });
    expect(validateShape(played)).toBe(true);
    expect(replay(day, inForce, { runs: 200, seed: 3 })).toEqual(played);
    expect(played.orders.length).toBe(inForce.orders.length);
  });

  it("tells a late task's delay on", () => {
    const at = Date.parse(`${AT}:00Z`);
    const running = inForce.tasks.find(
      (task) => task.does === "shape" && Date.parse(task.start) < at && Date.parse(task.end) > at - 20 * 60_000,
    )!;
    const told = morning([{ kind: "running", task: running.id, until: "2026-11-27T05:25" }]);
    const answer = drift(told);
    expect(answer.later.length).toBeGreaterThan(0);
    expect(verify(told, mended(told).timetable)).toEqual([]);
  });
});

function validateShape(played: { orders: readonly { onTime: number; low: number; high: number }[] }): boolean {
  return played.orders.every(({ onTime, low, high }) => low <= onTime + 1e-12 && onTime <= high + 1e-12);
}
