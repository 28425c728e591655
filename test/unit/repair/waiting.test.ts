import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Timetable } from "../../../schemas/index.js";
import { formatInstant } from "../../../solver/calendar.js";
import { repair, verify } from "../../../solver/index.js";
import { type CarriedMorning, carriedMorning } from "../../support/carried.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();
let morning: CarriedMorning;
beforeAll(async () => {
  morning = await carriedMorning();
}, 300_000);

const later = (instant: string, minutes: number): string =>
  formatInstant(Date.parse(instant) / 60_000 + minutes, "UTC");

/** The rest of a bake that was cut short has not begun, and cannot for so many minutes; the route lets it lie for so many. */
function told(waits: number, interruptMinutes: number): { day: DayDocuments; table: Timetable } {
  const [, rest] = morning.bake;
  const product = morning.after.loads.find(({ id }) => id === rest.load)!.product;
  const { catalogue } = morning.day;
  const products = catalogue.products.map((one) =>
    one.id !== product
      ? one
      : {
          ...one,
          routes: one.routes.map((route) => ({
            ...route,
            steps: route.steps.map((step) => (step.does === "bake" ? { ...step, interruptMinutes } : step)),
          })),
        },
  );
  const at = later(rest.start, 1);
  const happenings = [
    ...morning.day.happenings.happenings,
    { kind: "not-started" as const, task: rest.id, notBefore: later(rest.start, waits) },
  ];
  const day: DayDocuments = {
    ...morning.day,
    catalogue: { ...catalogue, products },
    inForce: morning.after,
    happenings: { ...morning.day.happenings, at, happenings },
  };
  const { timetable, breaches } = repair(day, { iterations: 20, seed: 1, now: () => 0, lp, onlyOne: true });
  expect(breaches).toEqual([]);
  return { day, table: timetable };
}

describe("the rest of a bake that is told not to have started", { timeout: 120_000 }, () => {
  it("starts when it is told to be possible, while the route lets it lie so long", () => {
    const [, rest] = morning.bake;
    const { day, table } = told(9, 25);
    const now = table.tasks.find(({ id }) => id === rest.id)!;
    expect(Date.parse(now.start)).toBeGreaterThanOrEqual(Date.parse(later(rest.start, 9)));
    const early = table.tasks.map((task) => (task.id === rest.id ? { ...task, start: later(rest.start, 2) } : task));
    const codes = verify(day, { ...table, tasks: early }).map(({ code }) => code);
    expect(codes).toContain("too-soon");
  });

  it("is thrown away where it does not", () => {
    const [, rest] = morning.bake;
    const { table } = told(9, 5);
    expect(table.loads.find(({ id }) => id === rest.load)!.scrapped).toBeDefined();
  });
});
