import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Happening, Load, Task, Timetable } from "../../../schemas/index.js";
import { validateDocument } from "../../../schemas/validate.js";
import { checkDay } from "../../../solver/check/index.js";
import { repair, verify } from "../../../solver/index.js";
import { demoInForce } from "../../support/demo-in-force.js";
import { loadLp } from "../../support/lp.js";

/** A repair takes tasks away that were told of: beside its timetable what was told is no mistake. */
const lp = await loadLp();
/** Some of the doughs are mixed later. */
const EARLY = "2026-11-26T15:00Z";
const NIGHT = "2026-11-27T02:00Z";
let day: DayDocuments;
let inForce: Timetable;

beforeAll(async () => {
  ({ day, inForce } = await demoInForce());
}, 120_000);

function told(happenings: readonly Happening[], table = inForce, at = EARLY): DayDocuments {
  return { ...day, inForce: table, happenings: { format: "happenings/1", at, happenings: [...happenings] } };
}

function mended(asked: DayDocuments): Timetable {
  const { timetable, breaches } = repair(asked, { iterations: 40, seed: 1, now: () => 0, lp, onlyOne: true });
  expect(breaches).toEqual([]);
  expect(validateDocument("timetable", timetable)).toEqual([]);
  return timetable;
}

const tasksOf = ({ tasks }: Timetable, load: Load): Task[] => tasks.filter((task) => task.load === load.id);

/** The first load of a batch that is not mixed yet and that alone serves its orders. */
function aheadLoad(): Load {
  const isAlone = (batch: string): boolean => {
    const own = inForce.loads.filter((load) => load.batch === batch);
    const lines = new Set(own.flatMap(({ orders }) => orders.map(({ line }) => line)));
    return inForce.loads.every((load) => load.batch === batch || load.orders.every(({ line }) => !lines.has(line)));
  };
  const mix = inForce.tasks.find(
    ({ does, batch, start }) => does === "mix" && Date.parse(start) > Date.parse(EARLY) && isAlone(batch!),
  )!;
  return inForce.loads.find(({ batch }) => batch === mix.batch)!;
}

/** The orders of a load's batch. */
function cancelled({ batch }: Load): Happening[] {
  const own = inForce.loads.filter((load) => load.batch === batch);
  const lines = new Set(own.flatMap(({ orders }) => orders.map(({ line }) => line)));
  return [...lines].map((line) => ({ kind: "order-cancelled", line }));
}

describe("what was told of tasks that a repair takes away", { timeout: 120_000 }, () => {
  it("is dealt with: locks, wishes, reports and losses of a load that nobody wants any more", () => {
    const load = aheadLoad();
    const tasks = tasksOf(inForce, load);
    const bake = tasks.find(({ does }) => does === "bake")!;
    const happenings: Happening[] = [
      { kind: "lock", task: bake.id },
      { kind: "not-started", task: tasks[0]!.id, notBefore: EARLY },
      { kind: "pieces-lost", load: load.id, pieces: 1 },
      { kind: "spoiled", batch: load.batch },
      ...cancelled(load),
    ];
    expect(checkDay(told(happenings))).toEqual([]);
    const table = mended(told(happenings));
    expect(table.loads.some(({ id }) => id === load.id)).toBe(false);
    expect(table.gone).toEqual([bake.id, tasks[0]!.id, load.id, load.batch].sort());
    const after = told(happenings, table);
    expect(checkDay(after)).toEqual([]);
    expect(verify(after, table)).toEqual([]);
    expect(mended(after)).toBe(table);
    // Told less later, it is still the same timetable.
    expect(mended(told(cancelled(load), table))).toBe(table);
  });

  it("is a mistake where there never was such a task", () => {
    const load = aheadLoad();
    const happenings: Happening[] = [{ kind: "lock", task: tasksOf(inForce, load).at(-1)!.id }, ...cancelled(load)];
    const table = mended(told(happenings));
    const wrong: Happening[] = [
      ...happenings,
      { kind: "lock", task: "none" },
      { kind: "spoiled", load: load.id },
      { kind: "spoiled", batch: load.batch },
    ];
    expect(checkDay(told(wrong, table)).map(({ code }) => code)).toEqual([
      "unknown-task",
      "unknown-load",
      "unknown-batch",
    ]);
  });

  it("is told of nothing that is made later: the names of what is gone are not given again", () => {
    const { orders } = aheadLoad();
    const like = day.orders.lines.find(({ id }) => id === orders[0]!.line)!;
    const added = (id: string): Happening => ({ kind: "order-added", line: { ...like, id, pieces: 6 } });
    const loadOf = (table: Timetable, line: string): Load =>
      table.loads.find((load) => load.orders.some((share) => share.line === line))!;
    const first = mended(told([added("called-in")]));
    const load = loadOf(first, "called-in");
    expect(inForce.loads.some(({ id }) => id === load.id)).toBe(false);
    const lock: Happening = { kind: "lock", task: tasksOf(first, load).find(({ does }) => does === "bake")!.id };
    const off: Happening[] = [added("called-in"), { kind: "order-cancelled", line: "called-in" }];
    for (const spoken of [[], [lock]]) {
      const happenings = [...off, ...spoken];
      const second = mended(told(happenings, first));
      expect(second.gone).toEqual(spoken.length > 0 ? [lock.task] : undefined);
      const third = mended(told([...happenings, added("called-in-too")], second));
      // A name that nobody spoke of is free.
      expect(loadOf(third, "called-in-too").id === load.id).toBe(spoken.length === 0);
      expect(checkDay(told([...happenings, added("called-in-too")], third))).toEqual([]);
    }
  });

  it("is told of a load that is thrown away, whose last steps are no more", () => {
    const load = inForce.loads.find((one) => {
      const own = tasksOf(inForce, one);
      const shape = own.find(({ does }) => does === "shape")!;
      const bake = own.find(({ does }) => does === "bake")!;
      return Date.parse(shape.start) < Date.parse(NIGHT) && Date.parse(bake.start) > Date.parse(NIGHT);
    })!;
    const pack = tasksOf(inForce, load).at(-1)!;
    const happenings: Happening[] = [
      { kind: "lock", task: pack.id },
      { kind: "spoiled", load: load.id },
    ];
    const table = mended(told(happenings, inForce, NIGHT));
    expect(table.loads.find(({ id }) => id === load.id)?.scrapped).toBeDefined();
    expect(table.gone).toEqual([pack.id]);
    expect(checkDay(told(happenings, table, NIGHT))).toEqual([]);
    expect(mended(told(happenings, table, NIGHT))).toBe(table);
  });

  it("goes on when no order wants it any more; thrown away, it is not for want of room", () => {
    const happenings = day.orders.lines.map(({ id }): Happening => ({ kind: "order-cancelled", line: id }));
    const asked = told(happenings, inForce, NIGHT);
    expect(mended(asked).loads.filter(({ scrapped }) => scrapped)).toEqual([]);
    // Where pieces are worth nothing, energy is.
    const weights = { ...day.settings.weights, shortPerPiece: 0 };
    const { loads } = mended({ ...asked, settings: { ...day.settings, weights } });
    const why = new Set(loads.flatMap(({ scrapped }) => scrapped?.why ?? []));
    expect([...why]).toEqual(["No order wants it any more, and the rest of its way costs room or money."]);
  });
});
