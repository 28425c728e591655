import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Happening, Load, Task, Timetable, VanTrip } from "../../../schemas/index.js";
import { validateDocument } from "../../../schemas/validate.js";
import { readDayFolder } from "../../../services/day-folder.js";
import { draw, drift, type RepairResult, repair } from "../../../solver/index.js";
import { loadLp } from "../../support/lp.js";
import { withFewLines } from "../../support/small-day.js";

/** A van that is late: what is on it when it has left or is loaded arrives late, what it cannot fetch in the window is not fetched. D22. */

const lp = await loadLp();
const BUDGET = { iterations: 60, seed: 1, now: () => 0, lp, onlyOne: true };
const MINUTE = 60_000;
let demo: DayDocuments;
let day: DayDocuments;
let plan: Timetable;
let van: VanTrip;
let ends: number;

beforeAll(async () => {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  demo = read.day;
  // With one van a morning: what misses it has no other.
  day = withRuns(withFewLines(demo), "-first");
  plan = draw(day, BUDGET).timetable;
  van = plan.vans.find(({ id }) => id.startsWith("quay-first-"))!;
  ends = Date.parse(plan.window.to);
}, 60_000);

function withRuns(of: DayDocuments, ending: string): DayDocuments {
  const vanRuns = of.network.vanRuns.filter(({ id }) => id.endsWith(ending));
  return { ...of, network: { ...of.network, vanRuns } };
}

function told(inForce: Timetable, at: number, happenings: readonly Happening[], of = day): RepairResult {
  const instant = new Date(at).toISOString().slice(0, 16);
  const morning = {
    ...of,
    inForce,
    happenings: { format: "happenings/1" as const, at: instant, happenings: [...happenings] },
  };
  const result = repair(morning, BUDGET);
  expect(result.breaches).toEqual([]);
  expect(validateDocument("timetable", result.timetable)).toEqual([]);
  drift(morning);
  return result;
}

function ridesOf({ tasks }: Timetable, trip: VanTrip): Task[] {
  return tasks.filter((task) => task.van === trip.id);
}

/** So many minutes that it departs the given number of minutes before the window ends. */
function lateBy(trip: VanTrip, minutesBeforeEnd: number): number {
  return (ends - Date.parse(trip.departs)) / MINUTE - minutesBeforeEnd;
}

const late = (trip: VanTrip, minutes: number): Happening => ({ kind: "van-late", trip: trip.id, minutes });
const loadOf = ({ loads }: Timetable, id: string): Load => loads.find((load) => load.id === id)!;

describe("a late van", { timeout: 60_000 }, () => {
  it("that was ridden by a load thrown away since leaves that ride as it was", () => {
    const ride = ridesOf(plan, van)[0]!;
    const load = loadOf(plan, ride.load!);
    const lost: Happening = { kind: "pieces-lost", load: load.id, pieces: load.pieces };
    const first = told(plan, Date.parse(ride.end) + 5 * MINUTE, [lost]).timetable;
    expect(loadOf(first, load.id).scrapped).toBeDefined();
    const { timetable } = told(first, Date.parse(ride.end) + 10 * MINUTE, [lost, late(van, 12)]);
    expect(timetable.tasks.find(({ id }) => id === ride.id)).toEqual(ride);
  });

  it("that has not left and cannot be driven in the window fetches nothing, whenever that is told", () => {
    for (const after of [-40, 20]) {
      const at = Date.parse(van.departs) + after * MINUTE;
      const { timetable } = told(plan, at, [late(van, lateBy(van, 20))]);
      expect(ridesOf(timetable, van)).toEqual([]);
      told(timetable, at + 5 * MINUTE, [late(van, lateBy(van, 20))]);
      expect(timetable.vans.map(({ id }) => id)).not.toContain(van.id);
    }
  });

  it("that has left delivers after the window, so much too late", () => {
    const minutes = lateBy(van, 20);
    const tells = [late(van, minutes)];
    const before = ridesOf(plan, van);
    const { timetable } = told(plan, ends - 15 * MINUTE, tells);
    const rides = ridesOf(timetable, van);
    expect(rides.map(({ id }) => id).sort()).toEqual(before.map(({ id }) => id).sort());
    for (const ride of rides) {
      expect(Date.parse(ride.end)).toBeGreaterThan(ends);
      const load = loadOf(timetable, ride.load!);
      expect(load.scrapped).toBeUndefined();
      for (const { line } of load.orders) {
        const order = timetable.orders.find((one) => one.line === line)!;
        expect(order.shortPieces).toBe(0);
        expect(order.lateMinutes).toBe((Date.parse(ride.end) - Date.parse(order.due)) / MINUTE);
      }
    }
    const again = told(timetable, ends - 10 * MINUTE, tells).timetable;
    expect(ridesOf(again, van)).toEqual(rides);
  });

  it("that is loaded delivers after the window too", () => {
    const [ride] = ridesOf(plan, van);
    const started: Happening = { kind: "started", task: ride!.id, at: ride!.start };
    const { timetable } = told(plan, Date.parse(van.departs) + 20 * MINUTE, [started, late(van, lateBy(van, 20))]);
    const [now] = ridesOf(timetable, van).filter(({ id }) => id === ride!.id);
    expect(Date.parse(now!.end)).toBeGreaterThan(ends);
    expect(loadOf(timetable, ride!.load!).scrapped).toBeUndefined();
  });

  it("with dough that is to be baked where it goes leaves that short", () => {
    const lines = demo.orders.lines.filter(({ site }) => site !== "weir-yard").slice(0, 8);
    const cold = withRuns({ ...demo, orders: { ...demo.orders, lines } }, "-cold");
    const inForce = draw(cold, BUDGET).timetable;
    const [trip] = inForce.vans as [VanTrip];
    expect(trip.loads.map(({ load }) => loadOf(inForce, load).handOver)).toContain("pans");
    const { timetable } = told(inForce, ends - 15 * MINUTE, [late(trip, lateBy(trip, 20))], cold);
    for (const { load } of trip.loads) expect(loadOf(timetable, load).scrapped).toBeDefined();
    expect(timetable.orders.some(({ shortPieces }) => shortPieces > 0)).toBe(true);
  });
});
