import { describe, expect, it } from "vitest";
import type { DayDocuments, Happening, Load, Task, Timetable } from "../../../schemas/index.js";
import { changesText } from "../../../services/text/index.js";
import { draw, drift, type RepairResult, repair } from "../../../solver/index.js";
import { randomDay } from "../../days/random-day.js";
import { loadLp } from "../../support/lp.js";

/** Dough that was to go straight onto a van has no place in a fridge; when the van does not come, it is put into one. D21. */

const lp = await loadLp();
const MINUTE = 60_000;
/** The first that is known to have such a load; plans change, so others are looked at too. */
const FIRST = 6_767;
const DAYS = 400;

interface Found {
  readonly day: DayDocuments;
  readonly plan: Timetable;
  readonly load: Load;
  readonly ride: Task;
}

function find(): Found {
  for (let seed = FIRST; seed < FIRST + DAYS; seed++) {
    const { inForce: _, ...raw } = randomDay(seed, "tiny");
    const day = { ...raw, happenings: { ...raw.happenings, happenings: [] } };
    const plan = draw(day, { iterations: 30, seed: 1, now: () => 0, lp }).timetable;
    for (const task of plan.tasks) {
      if (task.does !== "retard" || task.start !== task.end) continue;
      const ride = plan.tasks.find(({ id }) => id === `${task.load}-van`);
      const load = plan.loads.find(({ id }) => id === task.load)!;
      if (ride?.start === task.end && ride.start < plan.window.to) return { day, plan, load, ride };
    }
  }
  throw new Error("no load goes straight onto a van");
}

const { day, plan, load, ride } = find();

function told(inForce: Timetable, minutes: number, happenings: Happening[]): RepairResult & { morning: DayDocuments } {
  const at = new Date(Date.parse(ride.start) + minutes * MINUTE).toISOString().replace(/\.\d+Z$/, "Z");
  const morning = { ...day, inForce, happenings: { format: "happenings/1" as const, at, happenings } };
  const result = repair(morning, { iterations: 25, seed: 1, now: () => 0, lp, onlyOne: true });
  expect(result.breaches).toEqual([]);
  drift(morning);
  return { ...result, morning };
}

describe("dough that was to go straight onto a van", () => {
  // It will hardly come at all.
  const gone: Happening = { kind: "van-late", trip: ride.van!, minutes: 1_190 };
  const staysOf = ({ tasks }: Timetable): Task[] => tasks.filter(({ id }) => id.startsWith(`${load.id}-retard`));

  it("is put onto a shelf when the van is cancelled, and stays there in later repairs", () => {
    const first = told(plan, 5, [gone]);
    const [waited, stay] = staysOf(first.timetable);
    expect(waited).toMatchObject({ id: `${load.id}-retard`, start: ride.start });
    expect(waited!.places).toBeUndefined();
    expect(Date.parse(waited!.end)).toBe(Date.parse(ride.start) + 5 * MINUTE);
    expect(stay).toMatchObject({ id: `${load.id}-retard-carried`, start: waited!.end });
    expect(stay!.places!.map(({ item }) => item)).toEqual(
      load.tubs.length > 0
        ? load.tubs.map(({ id }) => id)
        : Array.from({ length: load.pans }, (_, i) => `${load.id}-pan-${i + 1}`),
    );
    const text = changesText(first.morning, plan, first.timetable, first.changes);
    expect(text).toMatch(new RegExp(`\\(${load.id}\\) +carry from where it waits to .*shelf-\\d+ \\(`));
    let inForce = first.timetable;
    for (const minutes of [5, 6, 60, 240]) {
      inForce = told(inForce, minutes, [gone]).timetable;
      expect(staysOf(inForce).slice(0, 2)).toEqual([waited, stay]);
    }
  });

  it("waits where it is until the instant of the repair, not longer", () => {
    const late: Happening = { kind: "van-late", trip: ride.van!, minutes: 45 };
    const { timetable } = told(plan, 10, [late]);
    for (const task of staysOf(timetable))
      if (!task.places) expect(Date.parse(task.end)).toBeLessThanOrEqual(Date.parse(ride.start) + 10 * MINUTE);
  });
});
