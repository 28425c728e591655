import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Happening, Issue, Load, Task, Timetable } from "../../../schemas/index.js";
import { validateDocument } from "../../../schemas/validate.js";
import { readDayFolder } from "../../../services/day-folder.js";
import { checkDay } from "../../../solver/check/index.js";
import { pose } from "../../../solver/index.js";
import { loadLp } from "../../support/lp.js";
import { withFewLines } from "../../support/small-day.js";
import { type Broken, CROSS, GONE, SCHEMA, TWICE } from "./broken-table.js";

const EMPTY_TIMETABLE: Timetable = {
  format: "timetable/1",
  status: "feasible",
  window: { from: "2026-11-26T12:00:00Z", to: "2026-11-27T14:00:00Z" },
  seed: 1,
  iterations: 0,
  batches: [],
  loads: [],
  tasks: [],
  ovenProgram: [],
  kettleProgram: [],
  vans: [],
  orders: [],
  cost: { total: 0, parts: [] },
};

let valid: DayDocuments;

beforeAll(async () => {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  valid = read.day;
});

function mutate(day: DayDocuments, [document, pointer, value]: Broken): DayDocuments {
  const copy = structuredClone(day) as unknown as Record<string, unknown>;
  const path = pointer.split("/").slice(1);
  const last = path.pop()!;
  let at = copy[document] as Record<string, unknown>;
  for (const name of path) at = at[name] as Record<string, unknown>;
  if (value === GONE) {
    if (Array.isArray(at)) at.splice(Number(last), 1);
    else delete at[last];
  } else if (value === TWICE) (at as unknown as unknown[]).push(structuredClone(at[last]));
  else at[last] = value;
  return copy as unknown as DayDocuments;
}

function told(issues: readonly Issue[], broken: Broken): boolean {
  const at = broken[4] ?? broken[1];
  const [first, second] = at.split(" ");
  const document = second === undefined ? broken[0] : first;
  const pointer = second ?? first;
  return issues.some((issue) => issue.code === broken[3] && issue.document === document && issue.pointer === pointer);
}

function expectGood(issues: readonly Issue[]): void {
  for (const { message, fix } of issues) {
    expect(message).toMatch(/\w.*\.$/);
    expect(fix).toMatch(/\w/);
    expect(message).not.toMatch(/undefined|\[object|NaN|at .*\.js/);
  }
}

describe("broken documents", () => {
  it.each(SCHEMA)("%s %s = %s: %s", (...broken) => {
    const day = mutate(valid, broken as unknown as Broken) as unknown as Record<string, unknown>;
    const document = (broken as unknown as Broken)[0];
    const issues = validateDocument(document, day[document]);
    expect(told(issues, broken as unknown as Broken), JSON.stringify(issues)).toBe(true);
    expectGood(issues);
  });

  it.each(CROSS)("%s %s = %s: %s", (...broken) => {
    const day = mutate(valid, broken as unknown as Broken);
    for (const name of ["network", "catalogue", "orders", "happenings", "settings"] as const) {
      expect(validateDocument(name, day[name]), "the schema is not what this is about").toEqual([]);
    }
    const issues = checkDay(day);
    expect(told(issues, broken as unknown as Broken), JSON.stringify(issues.slice(0, 6))).toBe(true);
    expectGood(issues);
  });

  it("a dough too stiff for every mixer is told at the dough", () => {
    const day = structuredClone(valid);
    for (const site of day.network.sites)
      for (const mixer of site.mixers) mixer.limits = [{ fromAbsorptionPercent: 60, maxDoughG: 50_000 }];
    const issues = checkDay(day);
    expect(
      issues.some((issue) => issue.code === "too-stiff-for-mixers" && issue.pointer === "/doughs/0/absorptionPercent"),
    ).toBe(true);
  });

  it("a lock on a task that is not in force is told at the lock", () => {
    const day = structuredClone(valid) as { -readonly [K in keyof DayDocuments]: DayDocuments[K] };
    day.happenings = { format: "happenings/1", happenings: [{ kind: "lock", task: "x-bake" }] };
    day.inForce = EMPTY_TIMETABLE;
    expect(checkDay(day).map((issue) => [issue.code, issue.pointer])).toEqual([["unknown-task", "/happenings/0/task"]]);
  });

  it("what is told of a timetable in force must be in it, and not lie in the future", () => {
    const day = structuredClone(valid) as { -readonly [K in keyof DayDocuments]: DayDocuments[K] };
    day.inForce = EMPTY_TIMETABLE;
    const told = (at: string | undefined, happenings: Happening[]): string[][] => {
      day.happenings = { format: "happenings/1", ...(at === undefined ? {} : { at }), happenings };
      return checkDay(day).map((issue) => [issue.code, issue.pointer]);
    };
    const at = "2026-11-27T05:00";
    expect(told(at, [{ kind: "spoiled", batch: "none" }])).toEqual([["unknown-batch", "/happenings/0/batch"]]);
    expect(told(at, [{ kind: "pieces-lost", load: "none", pieces: 2 }])).toEqual([
      ["unknown-load", "/happenings/0/load"],
    ]);
    expect(told(at, [{ kind: "running", task: "none", until: at }])).toEqual([["unknown-task", "/happenings/0/task"]]);
    expect(told(undefined, [{ kind: "spoiled", batch: "none" }])).toContainEqual(["instant-missing", "/at"]);
    const task = { id: "x-bake", does: "bake", site: "weir-yard", start: `${at}:00Z`, end: `${at}:00Z` } as const;
    day.inForce = { ...EMPTY_TIMETABLE, tasks: [task] };
    expect(told(at, [{ kind: "started", task: "x-bake", at: "2026-11-27T05:10" }])).toEqual([
      ["told-too-soon", "/happenings/0/at"],
    ]);
    expect(told(at, [{ kind: "started", task: "x-bake", at: "2026-11-27T04:50" }])).toEqual([]);
  });

  it("reports that cannot both be true are told, both of them; what was only told late is not", () => {
    const day = structuredClone(valid) as { -readonly [K in keyof DayDocuments]: DayDocuments[K] };
    const task = (id: string, does: "mix" | "boil" | "bake" | "cool", minute: number, more: object): Task =>
      ({ id, does, site: "weir-yard", start: clock(minute), end: clock(minute + 9), ...more }) as Task;
    const clock = (minute: number): string => `2026-11-27T04:${String(minute).padStart(2, "0")}:00Z`;
    const at = "2026-11-27T05:30";
    const load = { load: "x" };
    const { loads } = EMPTY_TIMETABLE;
    const product = day.catalogue.products[0]!;
    const made = { product: product.id, route: product.routes[0]!.id, bakedAt: "weir-yard", deliveredTo: "weir-yard" };
    day.inForce = {
      ...EMPTY_TIMETABLE,
      loads: [...loads, { id: "x", batch: "b", ...made } as Load],
      tasks: [
        task("b-mix", "mix", 0, { batch: "b" }),
        task("x-boil", "boil", 20, load),
        task("x-bake", "bake", 30, load),
        task("x-cool", "cool", 45, load),
      ],
    };
    const started = (id: string, when: string): Happening => ({ kind: "started", task: id, at: `2026-11-27T${when}` });
    const finished = (id: string, when: string, begun?: string): Happening => ({
      kind: "finished",
      task: id,
      at: `2026-11-27T${when}`,
      ...(begun === undefined ? {} : { startedAt: `2026-11-27T${begun}` }),
    });
    const told = (...happenings: Happening[]): string[][] => {
      day.happenings = { format: "happenings/1", at, happenings };
      return checkDay(day).map(({ code, pointer, message, fix }) => {
        expect(code).toBe("reports-contradict");
        expect(fix).toContain("remove its report");
        return [pointer, message];
      });
    };
    expect(told(started("x-bake", "04:30"), started("x-boil", "05:00"))).toEqual([
      [
        "/happenings/1/at",
        "x-boil is told to have begun at 2026-11-27T05:00, but x-bake, which comes after it, began at 2026-11-27T04:30 (the other report is /happenings/0): only one of these can be true.",
      ],
    ]);
    expect(told(started("x-boil", "05:00"), finished("x-bake", "04:40"))).toEqual([
      ["/happenings/1/at", expect.stringContaining("x-bake, which comes after it, ended at 2026-11-27T04:40")],
    ]);
    expect(told(started("b-mix", "05:00"), started("x-cool", "04:40"))).toHaveLength(1);
    expect(told(started("x-bake", "04:30"), started("x-bake", "05:00"))).toEqual([
      ["/happenings/1/at", expect.stringContaining("begun at 2026-11-27T05:00, and at 2026-11-27T04:30")],
    ]);
    expect(told(finished("x-bake", "04:40", "04:50"))).toEqual([
      ["/happenings/0/startedAt", expect.stringContaining("have ended at 2026-11-27T04:40, before it began")],
    ]);
    expect(told(started("x-bake", "04:30"), finished("x-bake", "04:29"))).toHaveLength(1);
    const until: Happening = { kind: "running", task: "x-bake", until: "2026-11-27T04:20" };
    expect(told(until, started("x-bake", "04:30"))).toEqual([
      ["/happenings/1/at", expect.stringContaining("run until 2026-11-27T04:20, before it began")],
    ]);
    const not: Happening = { kind: "not-started", task: "x-boil" };
    expect(told(started("x-bake", "04:30"), not)).toEqual([
      ["/happenings/1/task", expect.stringContaining("x-boil is told not to have started, but x-bake")],
    ]);
    expect(told(started("x-bake", "04:30"), { ...not, notBefore: "2026-11-27T05:40" })).toHaveLength(1);
    expect(told({ ...until, until: "2026-11-27T05:40" }, not)).toEqual([
      ["/happenings/1/task", expect.stringContaining("x-bake, which comes after it, runs until 2026-11-27T05:40")],
    ]);
    // It has gone on since; it was told by mistake.
    expect(told(not, started("x-bake", "04:30"))).toEqual([]);
    expect(told(started("x-boil", "05:10"), not, started("x-boil", "04:20"), started("x-bake", "04:30"))).toEqual([]);
    // Told with a hand free.
    expect(told(started("x-bake", "04:30"), started("x-boil", "04:45"), finished("x-boil", "05:10"))).toEqual([]);
    expect(told(started("x-bake", "04:30"), started("x-bake", "04:33"))).toEqual([]);
    day.happenings = { format: "happenings/1", at, happenings: [started("b-mix", "04:00")] };
    day.settings = { ...day.settings, window: { from: "2026-11-27T04:10", to: "2026-11-27T14:00" } };
    const early = checkDay(day).filter(({ code }) => code === "told-outside-day");
    expect(early.map(({ pointer }) => pointer)).toEqual(["/happenings/0/at"]);
    day.happenings = { format: "happenings/1", at, happenings: [{ ...until, until: "2026-12-27T05:40" }] };
    const late = checkDay(day).filter(({ code }) => code === "told-outside-day");
    expect(late.map(({ pointer }) => pointer)).toEqual(["/happenings/0/until"]);
  });

  it("pieces of next to nothing are refused; were they not, no load would be without dough", async () => {
    const day = withFewLines(structuredClone(valid));
    for (const product of day.catalogue.products) product.pieceG = 0.001;
    const { loads } = pose(day, await loadLp());
    expect(loads.length).toBeGreaterThan(0);
    expect(loads.filter(({ doughG }) => doughG < 1)).toEqual([]);
  });

  it("are at least 150", () => {
    expect(SCHEMA.length + CROSS.length).toBeGreaterThanOrEqual(150);
  });

  it("are told all at once", () => {
    let day = valid;
    const some = CROSS.filter(([document]) => document === "orders").slice(0, 5);
    for (const [i, broken] of some.entries()) {
      const moved = [broken[0], broken[1].replace("/lines/0", `/lines/${i + 10}`), broken[2], broken[3]] as Broken;
      day = mutate(day, moved);
    }
    expect(checkDay(day).length).toBeGreaterThanOrEqual(4);
  });
});
