import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Happening, Issue, Timetable } from "../../../schemas/index.js";
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
