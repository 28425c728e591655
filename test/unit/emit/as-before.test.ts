import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Timetable } from "../../../schemas/index.js";
import { repair } from "../../../solver/index.js";
import { demoInForce } from "../../support/demo-in-force.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();
let day: DayDocuments;
let inForce: Timetable;

beforeAll(async () => {
  ({ day, inForce } = await demoInForce());
}, 120_000);

/** The repair after a deck of the morning fails. */
function mended(): Timetable {
  const bakes = inForce.tasks.filter(({ does, start }) => does === "bake" && start > "2026-11-27T05:00");
  const unit = bakes[0]!.unit!;
  const at = "2026-11-27T05:00";
  const happenings = [{ kind: "out-of-service" as const, unit, from: at, to: "2026-11-27T07:30" }];
  const told = { ...day, inForce, happenings: { format: "happenings/1" as const, at, happenings } };
  return repair(told, { iterations: 20, seed: 1, now: () => 0, lp }).timetable;
}

/** Ids of those that are equal to what has their id in force, but another object. */
function copies(now: readonly { readonly id: string }[], before: readonly { readonly id: string }[]): string[] {
  const was = new Map(before.map((one) => [one.id, one]));
  return now
    .filter((one) => one !== was.get(one.id) && JSON.stringify(one) === JSON.stringify(was.get(one.id)))
    .map(({ id }) => id);
}

describe("what a repair leaves as it was", () => {
  it("is the task, load or batch of the timetable in force itself, ahead of the instant too", () => {
    const table = mended();
    expect(table.tasks.some((task) => !inForce.tasks.includes(task))).toBe(true);
    expect(
      copies(
        table.tasks,
        inForce.tasks.filter(({ does }) => does !== "clean"),
      ),
    ).toEqual([]);
    expect(copies(table.loads, inForce.loads)).toEqual([]);
    expect(copies(table.batches, inForce.batches)).toEqual([]);
  });

  it("is not one of which something is other", () => {
    const at = "2026-11-27T05:00";
    const happenings = { format: "happenings/1" as const, at, happenings: [] };
    const late = inForce.tasks.find(({ does, start }) => does === "bake" && start > "2026-11-27T06:00")!;
    // A lock is of the timetable in force alone: a repair does not write it.
    const tasks = inForce.tasks.map((task) => (task === late ? { ...task, locked: true } : task));
    const told = { ...day, inForce: { ...inForce, tasks }, happenings };
    const { timetable } = repair(told, { iterations: 20, seed: 1, now: () => 0, lp, searchesOn: true });
    expect(timetable.tasks.find(({ id }) => id === late.id)?.locked).toBeUndefined();
  });
});
