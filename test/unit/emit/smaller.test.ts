import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Happening, Task, Timetable } from "../../../schemas/index.js";
import { readDayFolder } from "../../../services/day-folder.js";
import { draw, repair } from "../../../solver/index.js";
import { loadLp } from "../../support/lp.js";
import { withFewLines } from "../../support/small-day.js";

/** Units that lose positions later in the day: what the search puts there until then must find names. */

const lp = await loadLp();
const BUDGET = { iterations: 60, seed: 1, now: () => 0, lp };
/** While tubs of the evening still stand, and while pans of the night do. */
const LATER = ["2026-11-27T00:30", "2026-11-27T03:00"];
let day: DayDocuments;
let plan: Timetable;

beforeAll(async () => {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  day = withFewLines(read.day);
  plan = draw(day, BUDGET).timetable;
}, 60_000);

function smaller(unit: string, positions: number, from: string): Happening {
  return { kind: "smaller", unit, positions, from };
}

function told(happenings: readonly Happening[]): DayDocuments {
  return { ...day, happenings: { format: "happenings/1", happenings: [...happenings] } };
}

function unitsOf(does: readonly Task["does"][]): string[] {
  const tasks = plan.tasks.filter((task) => does.includes(task.does));
  return [...new Set(tasks.flatMap(({ places = [] }) => places.map(({ unit }) => unit)))].sort();
}

function brokenBy(units: readonly string[]): string[] {
  return units.flatMap((unit) =>
    LATER.flatMap((from, positions) =>
      draw(told([smaller(unit, positions, from)]), BUDGET).breaches.map(({ message }) => `${unit} ${from}: ${message}`),
    ),
  );
}

describe("a unit that becomes smaller later in the day", { timeout: 60_000 }, () => {
  it("as a shelf is drawn around", () => {
    const shelves = unitsOf(["retard"]);
    expect(shelves.length).toBeGreaterThan(1);
    expect(brokenBy(shelves)).toEqual([]);
  });

  it("as a proofer, deck or rack is drawn around", () => {
    expect(brokenBy(unitsOf(["proof", "bake", "cool"]))).toEqual([]);
  });

  it("as a shelf keeps what is gone before then where it was", () => {
    const at = "2026-11-26T20:00";
    const gone = plan.tasks.find(
      ({ does, start, end }) =>
        does === "retard" && Date.parse(start) > Date.parse(`${at}Z`) && end < "2026-11-27T08:00",
    )!;
    const unit = gone.places![0]!.unit;
    const happenings = [smaller(unit, 0, gone.end)];
    const morning = { ...day, inForce: plan, happenings: { format: "happenings/1" as const, at, happenings } };
    const { timetable, breaches } = repair(morning, BUDGET);
    expect(breaches).toEqual([]);
    expect(timetable.tasks.find(({ id }) => id === gone.id)).toEqual(gone);
  });

  it("after the window is as large as ever in it", () => {
    const after = told(unitsOf(["bake", "cool"]).map((unit) => smaller(unit, 0, "2026-11-29T12:00")));
    expect(draw(after, BUDGET).timetable).toEqual(plan);
  });
});
