import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments } from "../../../schemas/index.js";
import { changesBetween } from "../../../services/board/logic/changes.js";
import { MINUTE } from "../../../services/board/logic/clock.js";
import { canMove, dayForMoves, judge, movedTasks } from "../../../services/board/logic/hand-move.js";
import { neighbour } from "../../../services/board/logic/keys.js";
import { limitOf } from "../../../services/board/logic/limits.js";
import { linesTakenOut } from "../../../services/board/logic/orders.js";
import { pinGroups, pinsOf, withoutPins, withPins } from "../../../services/board/logic/pins.js";
import { type Plan, readPlan, unitName, wayOf, whatOf } from "../../../services/board/logic/plan.js";
import { barAt, layRows, rowAt } from "../../../services/board/logic/rows/layout.js";
import { stationRows } from "../../../services/board/logic/rows/stations.js";
import { plainBreach } from "../../../services/board/logic/rules.js";
import { tally, wanting } from "../../../services/board/logic/summary.js";
import { unitsFor } from "../../../services/board/logic/units.js";
import { verify } from "../../../solver/index.js";
import { demoDay } from "./plan-fixture.js";

let plan: Plan;
beforeAll(async () => {
  const { day, timetable } = await demoDay();
  plan = readPlan(day, timetable);
}, 300_000);

const NONE: ReadonlySet<string> = new Set();

describe("rows of the timetable", { timeout: 60_000 }, () => {
  it("every task that is on a unit has a bar in that unit's row, at its times", () => {
    const fridges = plan.day.network.sites.flatMap((site) => site.fridges.map((fridge) => `${site.id}/${fridge.id}`));
    const standing = plan.day.network.sites.flatMap((site) =>
      [...site.proofers, ...site.racks].map((unit) => `${site.id}/${unit.id}`),
    );
    const rows = stationRows(plan, new Set([...fridges, ...standing]), NONE);
    for (const task of plan.tasks) {
      const units = new Set([
        ...(task.task.unit ? [task.task.unit] : []),
        ...(task.task.places ?? []).map((place) => place.unit),
      ]);
      for (const unit of units) {
        const row = rows.find((candidate) => candidate.id === unit)!;
        const bars = row.bars.filter((bar) => bar.task?.id === task.id);
        expect(bars.length, `${task.id} on ${unit}`).toBeGreaterThan(0);
        for (const bar of bars) expect([bar.fromMs, bar.toMs]).toEqual([task.fromMs, task.toMs]);
      }
    }
  });

  it("bars of named positions never overlap and never leave their row", () => {
    const rows = stationRows(plan, NONE, NONE).filter((row) => row.station === "oven");
    for (const row of rows) {
      for (const [i, a] of row.bars.entries()) {
        expect(a.lane + a.lanes).toBeLessThanOrEqual(row.laneCount);
        for (const b of row.bars.slice(i + 1)) {
          const apart =
            a.toMs <= b.fromMs || b.toMs <= a.fromMs || a.lane + a.lanes <= b.lane || b.lane + b.lanes <= a.lane;
          expect(apart, `${a.task?.id} and ${b.task?.id}`).toBe(true);
        }
      }
    }
  });

  it("strips never show more in use than there is, as the verifier found no rule broken", () => {
    for (const row of stationRows(plan, NONE, NONE)) {
      if (!row.gauge) continue;
      for (const level of row.gauge.levels) {
        const room = row.gauge.room.filter((step) => step.ms <= level.ms).at(-1)?.used ?? 0;
        expect(level.used, `${row.id} at ${new Date(level.ms).toISOString()}`).toBeLessThanOrEqual(room);
      }
    }
  });

  it("a point finds its row and bar again, and a folded site has one row", () => {
    const laid = layRows(stationRows(plan, NONE, NONE), 1);
    for (const row of laid.rows) {
      expect(rowAt(laid.rows, row.top)).toBe(row);
      expect(rowAt(laid.rows, row.top + row.height - 1)).toBe(row);
      for (const bar of row.row.bars.slice(0, 5)) {
        const y = row.lanesTop + (bar.lane + 0.5) * row.laneHeight;
        expect(barAt(row, (bar.fromMs + bar.toMs) / 2, y, 0)?.task?.id).toBe(bar.task?.id);
      }
    }
    expect(rowAt(laid.rows, laid.height + 1)).toBeUndefined();
    const site = plan.day.network.sites[0]!.id;
    expect(stationRows(plan, NONE, new Set([site])).filter((row) => row.site === site).length).toBe(1);
  });

  it("an outage shows on the unit and on what is part of it", () => {
    const happenings = {
      format: "happenings/1" as const,
      happenings: [
        { kind: "out-of-service" as const, unit: "weir-yard/oven-1", from: "2026-11-27T03:00", to: "2026-11-27T05:00" },
      ],
    };
    const out = readPlan({ ...plan.day, happenings }, plan.timetable);
    const rows = stationRows(out, NONE, NONE).filter((row) => row.out.length > 0);
    expect(rows.map((row) => row.id)).toEqual([
      "weir-yard/oven-1/deck-1",
      "weir-yard/oven-1/deck-2",
      "weir-yard/oven-1/deck-3",
    ]);
    expect(rows[0]!.out[0]).toMatchObject({
      fromMs: Date.parse("2026-11-27T03:00Z"),
      toMs: Date.parse("2026-11-27T05:00Z"),
    });
  });

  it("arrow keys reach every bar of a row and go on to the next", () => {
    const laid = layRows(stationRows(plan, NONE, NONE), 1);
    const mixes = plan.tasks.filter((task) => task.task.unit === "weir-yard/spiral-1");
    let task = mixes[0];
    const seen = [task!.id];
    for (let i = 1; i < mixes.length; i++) {
      task = neighbour(laid.rows, plan.tasks, task, "right");
      seen.push(task!.id);
    }
    expect(seen).toEqual(mixes.map((mix) => mix.id));
    expect(neighbour(laid.rows, plan.tasks, task, "down")!.task.unit).not.toBe("weir-yard/spiral-1");
    expect(neighbour(laid.rows, plan.tasks, undefined, "left")).toBeDefined();
  });
});

describe("a load's whole way", { timeout: 60_000 }, () => {
  it("runs from the mix to its last task, each step within the limits of its route", () => {
    for (const load of plan.timetable.loads) {
      const way = wayOf(plan, load.id);
      expect(way[0]!.task.does).toBe("mix");
      for (let i = 1; i < way.length; i++) expect(way[i]!.fromMs).toBeGreaterThanOrEqual(way[i - 1]!.fromMs);
      for (const task of way.slice(1)) {
        const limit = limitOf(task, way);
        if (!limit) continue;
        expect(limit.minutes, task.id).toBeGreaterThanOrEqual(limit.least);
        expect(limit.minutes, task.id).toBeLessThanOrEqual(limit.greatest);
      }
    }
  });

  it("names things as people do", () => {
    expect(unitName(plan, "weir-yard/oven-1/deck-2")).toBe("Deck oven east, deck 2");
    const mix = plan.tasks.find((task) => task.task.does === "mix")!;
    expect(whatOf(plan, mix)).toMatch(/ dough \d+\.\d kg$/);
  });

  it("counts orders as the timetable does", () => {
    const count = tally(plan);
    expect(count.orders).toBe(plan.day.orders.lines.length);
    expect(wanting(plan).length).toBe(count.orders - count.onTime);
  });

  it("counts no order that was taken out since, or cancelled", () => {
    const [first, second, ...lines] = plan.day.orders.lines;
    const cancelled = { kind: "order-cancelled", line: second!.id } as const;
    const day: DayDocuments = {
      ...plan.day,
      orders: { ...plan.day.orders, lines: [second!, ...lines] },
      happenings: { ...plan.day.happenings, happenings: [cancelled] },
    };
    const late = plan.timetable.orders.map((order) =>
      order.line === first!.id ? { ...order, state: "late" as const, lateMinutes: 9 } : order,
    );
    const after = readPlan(day, { ...plan.timetable, orders: late });
    expect(tally(after)).toMatchObject({ orders: lines.length, notDrawn: 0, late: tally(plan).late });
    expect(wanting(after).map(({ line }) => line)).not.toContain(first!.id);
    expect(linesTakenOut(after).sort()).toEqual([first!.id, second!.id].sort());
  });
});

describe("moves by hand", { timeout: 60_000 }, () => {
  it("a task put where it is changes nothing and is allowed", () => {
    for (const task of plan.tasks.filter((candidate) => canMove(candidate.task)).slice(0, 20)) {
      const moved = movedTasks(plan, { task: task.id, startMs: task.fromMs });
      expect(moved.length).toBe(1);
      expect(Date.parse(moved[0]!.start)).toBe(task.fromMs);
      expect(judge(plan, { task: task.id, startMs: task.fromMs }).is).toBe("allowed");
    }
  });

  it("what is called allowed has no breach but sums that a repair sets anew, by the verifier itself", () => {
    let allowed = 0;
    // Each verdict is a whole verification: every third task will do.
    const candidates = plan.tasks.filter(({ task }) => task.does === "bake" || task.does === "shape");
    for (const task of candidates.filter((_, i) => i % 3 === 0)) {
      for (const minutes of [-3, 2]) {
        const move = { task: task.id, startMs: task.fromMs + minutes * MINUTE };
        if (judge(plan, move).is !== "allowed") continue;
        allowed++;
        const tasks = new Map(movedTasks(plan, move).map((moved) => [moved.id, moved]));
        const timetable = {
          ...plan.timetable,
          tasks: plan.timetable.tasks.map((other) => tasks.get(other.id) ?? other),
        };
        for (const breach of verify(plan.day, timetable))
          expect([
            "ready",
            "late-minutes",
            "state",
            "cost",
            "not-hot",
            "no-preheat",
            "hot-too-soon",
            "heat-up",
          ]).toContain(breach.code);
      }
    }
    expect(allowed).toBeGreaterThan(1);
  }, 60_000);

  it("refuses a bake out of reach of its waits, naming the rule, and leaves the timetable as it was", () => {
    const bake = plan.tasks.find((task) => task.task.does === "bake")!;
    const before = JSON.stringify(plan.timetable);
    const verdict = judge(plan, { task: bake.id, startMs: plan.span.fromMs });
    expect(verdict.is).toBe("refused");
    expect(verdict.objections.length).toBeGreaterThan(0);
    expect(JSON.stringify(plan.timetable)).toBe(before);
    const text = plainBreach(plan, verdict.objections[0]!.message, bake.site);
    expect(text).not.toMatch(/\d{4}-\d\d-\d\dT/);
  });

  it("says who is in the way when a load is put on top of another", () => {
    const bakes = plan.tasks.filter((task) => task.task.does === "bake" && task.load);
    let found = false;
    for (const a of bakes.slice(0, 40)) {
      const b = bakes.find(
        (other) => other.task.unit === a.task.unit && other.fromMs >= a.toMs && other.fromMs - a.toMs < 5 * MINUTE,
      );
      if (!b) continue;
      const verdict = judge(plan, { task: a.id, startMs: a.fromMs + 10 * MINUTE });
      if (verdict.inTheWay.length > 0) {
        found = true;
        expect(verdict.is).not.toBe("allowed");
      }
    }
    expect(found).toBe(true);
  }, 60_000);

  it("offers units of the same kind only", () => {
    const bake = plan.tasks.find((task) => task.task.does === "bake" && task.site === "weir-yard")!;
    expect(unitsFor(plan, bake.task).length).toBe(6);
    const cool = plan.tasks.find((task) => task.task.does === "cool")!;
    expect(unitsFor(plan, cool.task)).toEqual([]);
    expect(canMove(cool.task)).toBe(false);
    expect(canMove(bake.task, "lock")).toBe(false);
    expect(canMove(bake.task, "hold")).toBe(true);
  });

  it("a pinned task stays: pins are happenings, and what would draw it along is refused by R14", () => {
    const bake = plan.tasks.find((task) => task.task.does === "bake" && task.load)!;
    const cool = plan.byLoad.get(bake.load!.id)!.find((task) => task.task.does === "cool")!;
    const held = { kind: "hold", task: "other", start: "2026-11-27T03:00" } as const;
    const before = { ...plan.day.happenings, happenings: [held] };
    const told = withPins(before, [cool.id, "other"]);
    expect(told.happenings).toEqual([held, { kind: "lock", task: cool.id }]);
    expect([...pinsOf(told)]).toEqual([
      ["other", "hold"],
      [cool.id, "lock"],
    ]);
    expect(withoutPins(told, [cool.id, "other"]).happenings).toEqual([]);
    const pinned = readPlan({ ...plan.day, happenings: withPins(plan.day.happenings, [cool.id]) }, plan.timetable);
    expect(pinGroups(pinned)).toEqual([{ owner: bake.load!.id, tasks: [expect.objectContaining({ id: cool.id })] }]);
    const move = { task: bake.id, startMs: bake.fromMs + 5 * MINUTE };
    const rules = (of: Plan): string[] =>
      judge(of, move, verify(dayForMoves(of), of.timetable)).objections.map(({ rule }) => rule);
    expect(rules(plan)).not.toContain("R14");
    expect(rules(pinned)).toContain("R14");
  });
});

describe("the list of changes", { timeout: 60_000 }, () => {
  it("is empty between a timetable and itself", () => {
    const list = changesBetween(plan, plan);
    expect(list.loads).toEqual([]);
    expect(list.orders).toEqual([]);
  });

  it("shows what moved, by how much and where to, and who fares worse", () => {
    const bake = plan.tasks.find((task) => task.task.does === "bake" && task.site === "weir-yard")!;
    const other = unitsFor(plan, bake.task).find((unit) => unit !== bake.task.unit)!;
    const moved = movedTasks(plan, { task: bake.id, startMs: bake.fromMs + 7 * MINUTE, unit: other });
    const tasks = plan.timetable.tasks.map((task) => moved.find((candidate) => candidate.id === task.id) ?? task);
    const line = bake.load!.orders[0]!.line;
    const orders = plan.timetable.orders.map((order) =>
      order.line === line ? { ...order, state: "late" as const, lateMinutes: 9 } : order,
    );
    const after = readPlan(plan.day, { ...plan.timetable, tasks, orders });
    const list = changesBetween(plan, after);
    expect(list.loads.map((change) => change.id)).toEqual([bake.load!.id]);
    const change = list.loads[0]!.tasks.find((task) => task.after.id === bake.id)!;
    expect(change.byMinutes).toBe(7);
    expect(change.whereAfter).toBe(unitName(plan, other));
    expect(list.orders.find((order) => order.line === line)).toMatchObject({ after: "9 min late", isWorse: true });
  });

  it("names loads that are gone or new", () => {
    const gone = plan.timetable.loads[0]!.id;
    const without = readPlan(plan.day, {
      ...plan.timetable,
      loads: plan.timetable.loads.filter((load) => load.id !== gone),
      tasks: plan.timetable.tasks.filter((task) => task.load !== gone),
    });
    expect(changesBetween(plan, without).loads.map(({ id, kind }) => ({ id, kind }))).toEqual([
      { id: gone, kind: "gone" },
    ]);
    expect(changesBetween(without, plan).loads.map(({ id, kind }) => ({ id, kind }))).toEqual([
      { id: gone, kind: "new" },
    ]);
  });
});
