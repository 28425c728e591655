import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Happening, Load, Task, Timetable } from "../../../schemas/index.js";
import { validateDocument } from "../../../schemas/validate.js";
import { drift, repair, verify } from "../../../solver/index.js";
import { demoInForce } from "../../support/demo-in-force.js";
import { loadLp } from "../../support/lp.js";

/** What was told is still in the day hours later: it says then what it said, and no more. */
const lp = await loadLp();
let day: DayDocuments;
let inForce: Timetable;

beforeAll(async () => {
  ({ day, inForce } = await demoInForce());
}, 120_000);

const later = (instant: string, minutes: number): string =>
  new Date(Date.parse(instant) + 60_000 * minutes).toISOString().replace(".000Z", "Z");
const minutesFrom = (a: string, b: string): number => (Date.parse(b) - Date.parse(a)) / 60_000;

function morning(at: string, happenings: readonly Happening[], table = inForce): DayDocuments {
  return { ...day, inForce: table, happenings: { format: "happenings/1", at, happenings: [...happenings] } };
}

function mended(told: DayDocuments, iterations = 24): Timetable {
  const { timetable, breaches } = repair(told, { iterations, seed: 1, now: () => 0, lp, onlyOne: true });
  expect(breaches).toEqual([]);
  expect(validateDocument("timetable", timetable)).toEqual([]);
  return timetable;
}

const taskOf = ({ tasks }: Timetable, id: string): Task => tasks.find((task) => task.id === id)!;
/** Work of the morning. */
const work = (does: Task["does"]): Task =>
  inForce.tasks.find((task) => task.does === does && task.start > "2026-11-27T03:30")!;

/** The timetable as it was put in force, and nothing to do at later instants. */
function staysRight(table: Timetable, at: string, happenings: readonly Happening[]): void {
  for (const minutes of [0, 1, 9, 35, 180]) {
    const asked = morning(later(at, minutes), happenings, table);
    expect(drift(asked).reasons, `${minutes} min later`).toEqual([]);
    expect(mended(asked, 4), `${minutes} min later`).toBe(table);
  }
}

describe("a report hours later", { timeout: 120_000 }, () => {
  it("of work that runs longer says that it ended then", () => {
    const bake = work("bake");
    const until = later(bake.end, 4);
    const told: Happening[] = [{ kind: "running", task: bake.id, until }];
    const table = mended(morning(bake.end, told));
    expect(taskOf(table, bake.id)).toMatchObject({ start: bake.start });
    expect(Date.parse(taskOf(table, bake.id).end)).toBe(Date.parse(until));
    staysRight(table, bake.end, told);
    // Nobody repaired anything in between.
    const late = mended(morning(later(bake.end, 180), told));
    expect(minutesFrom(until, taskOf(late, bake.id).end)).toBe(0);
  });

  it("that work had not started holds until it could, then it began as planned", () => {
    for (const does of ["bake", "shape", "mix"] as const) {
      // One that there is room for a while later.
      const task = inForce.tasks.find((one) => {
        if (one.does !== does || one.start < (does === "mix" ? "2026-11-26T18:00" : "2026-11-27T03:30")) return false;
        const at = later(one.start, 7);
        const told: Happening = { kind: "not-started", task: one.id, notBefore: later(at, 12) };
        return [at, later(at, 30)].every((asked) =>
          mended(morning(asked, [{ ...told, notBefore: later(asked, 12) }]), 4).tasks.some(({ id }) => id === one.id),
        );
      })!;
      const at = later(task.start, 7);
      for (const notBefore of [undefined, later(at, 12)]) {
        const told: Happening[] = [
          { kind: "not-started", task: task.id, ...(notBefore === undefined ? {} : { notBefore }) },
        ];
        const table = mended(morning(at, told));
        expect(minutesFrom(notBefore ?? at, taskOf(table, task.id).start)).toBeGreaterThanOrEqual(0);
        expect(table.notStarted).toEqual(notBefore === undefined ? [task.id] : undefined);
        staysRight(table, at, told);
        // Said again, with a time: it still has not.
        const again = later(taskOf(table, task.id).start, 5);
        const still: Happening[] = [...told, { kind: "not-started", task: task.id, notBefore: again }];
        expect(minutesFrom(again, taskOf(mended(morning(again, still, table)), task.id).start)).toBeGreaterThanOrEqual(
          0,
        );
        // And in the end somebody says when it did.
        const started: Happening[] = [...still, { kind: "started", task: task.id, at: again }];
        const done = mended(morning(later(again, 2), started, table));
        expect(minutesFrom(again, taskOf(done, task.id).start)).toBe(0);
      }
      // Nobody repaired anything: it still waits, or began when it could.
      const asked = later(at, 30);
      const waits = mended(morning(asked, [{ kind: "not-started", task: task.id }]));
      expect(minutesFrom(asked, taskOf(waits, task.id)?.start ?? asked)).toBeGreaterThanOrEqual(0);
      const notBefore = later(at, 12);
      const began = mended(morning(asked, [{ kind: "not-started", task: task.id, notBefore }]));
      expect(minutesFrom(notBefore, taskOf(began, task.id).start)).toBe(0);
    }
  });

  it("that work cannot start yet is kept to, and the verifier says when it is not", () => {
    const bake = work("bake");
    const at = later(bake.start, -10);
    const told: Happening[] = [{ kind: "not-started", task: bake.id, notBefore: later(bake.start, 6) }];
    const asked = morning(at, told);
    expect(verify(asked, inForce)).toMatchObject([{ rule: "R14", code: "too-soon", tasks: [bake.id] }]);
    const table = mended(asked);
    const now = table.tasks.find(({ id }) => id === bake.id);
    if (now) expect(minutesFrom(bake.start, now.start)).toBeGreaterThanOrEqual(6);
    expect(table.loads.find(({ id }) => id === bake.load)!.scrapped).toBeUndefined();
    expect(drift(asked).later).toContainEqual({ task: bake.id, minutes: 6 });
  });
});

describe("a batch that came out light", { timeout: 120_000 }, () => {
  const AT = "2026-11-27T05:00";
  /** A load that lost all its pieces is thrown away. */
  const shortOf = (loads: readonly Load[]): number =>
    loads.reduce((sum, { scrapped, pieces, shortPieces = 0 }) => sum + (scrapped ? pieces : shortPieces), 0);
  const ofBatch = (table: Timetable, batch: string): Load[] => table.loads.filter((load) => load.batch === batch);
  const mixed = (): string[] =>
    inForce.batches
      .filter(({ id }) => inForce.tasks.some((task) => task.batch === id && task.end < "2026-11-27T04:00"))
      .map(({ id }) => id)
      .filter((id) => ofBatch(inForce, id).length > 1);
  const missing = (batch: string, pieces: number): Happening => {
    const { doughG, pieces: whole } = ofBatch(inForce, batch)[0]!;
    const { spareG } = inForce.batches.find(({ id }) => id === batch)!;
    return { kind: "short-batch", batch, missingG: Math.floor(spareG + (pieces * doughG) / whole) };
  };

  it("is short of so much once, whatever its loads serve after the repair", () => {
    let repairs = 0;
    for (const batch of mixed().slice(0, 8)) {
      for (const pieces of [3, 8]) {
        const told = [missing(batch, pieces)];
        const table = mended(morning(AT, told), 12);
        const short = shortOf(ofBatch(table, batch));
        expect(short).toBeGreaterThan(0);
        const again = mended(morning(later(`${AT}:00Z`, 5), told, table), 12);
        expect(shortOf(ofBatch(again, batch))).toBe(short);
        // As pieces that are told to be lost beside it are lost beside it, of the same load.
        const [load] = ofBatch(table, batch).filter(({ shortPieces }) => shortPieces !== undefined);
        if (!load) continue;
        const more: Happening[] = [...told, { kind: "pieces-lost", load: load.id, pieces: 1 }];
        const third = mended(morning(later(`${AT}:00Z`, 9), more, table), 12);
        const now = third.loads.find(({ id }) => id === load.id)!;
        repairs++;
        if (now.scrapped) continue;
        expect(now.lostPieces).toBe(Math.min(load.pieces, load.lostPieces! + 1));
        expect(shortOf(ofBatch(third, batch))).toBe(short);
      }
    }
    expect(repairs).toBeGreaterThan(5);
  });

  it("told of twice has its spare dough once, and the verifier says who lacks too little or too much", () => {
    const batch = mixed()[0]!;
    const told = [missing(batch, 2), missing(batch, 3)];
    const { spareG } = inForce.batches.find(({ id }) => id === batch)!;
    const { doughG, pieces } = ofBatch(inForce, batch)[0]!;
    const asked = morning(AT, told);
    const table = mended(asked, 12);
    const missingG = told.reduce((sum, one) => sum + (one as { missingG: number }).missingG, -spareG);
    expect(shortOf(ofBatch(table, batch))).toBe(Math.ceil((missingG * pieces) / doughG));
    for (const by of [-1, 1]) {
      const wrong = structuredClone(table);
      const load = wrong.loads.find((one) => one.batch === batch && one.shortPieces !== undefined)!;
      load.shortPieces! += by;
      load.lostPieces! += by;
      load.surplusPieces -= by;
      expect(verify(asked, wrong).map(({ code }) => code)).toContain("short-batch");
    }
  });
});

describe("a drift", { timeout: 120_000 }, () => {
  it("is told of a van that is late, by the times that the timetable in force has for it, and no more once that is repaired", () => {
    const { id } = inForce.vans.find(({ loads }) =>
      inForce.loads.some((load) => load.handOver === "baked" && loads.some((one) => one.load === load.id)),
    )!;
    const told: Happening[] = [{ kind: "van-late", trip: id, minutes: 90 }];
    const at = "2026-11-27T03:00:00Z";
    const asked = morning(at, told);
    expect(drift(asked).holds).toBe(false);
    expect(drift(asked).reasons[0]).toContain("would be late");
    const table = mended(asked);
    staysRight(table, at, told);
  });

  it("is told of what the timetable in force does not meet yet, not of what it does", () => {
    const at = "2026-11-27T05:00:00Z";
    const baked = inForce.tasks.find((task) => task.does === "bake" && task.end > at)!;
    const line = { id: "more", product: "choc-cookie", pieces: 12, site: "weir-yard", due: "2026-11-27T12:00" };
    const told: Happening[][] = [
      [{ kind: "pieces-lost", load: baked.load!, pieces: 2 }],
      [{ kind: "order-added", line }],
      [{ kind: "order-cancelled", line: day.orders.lines[12]!.id }],
      [{ kind: "absent", site: "weir-yard", crew: "bakers", heads: 1, from: at, to: "2026-11-27T09:00" }],
    ];
    for (const happenings of told) {
      const asked = morning(at, happenings);
      const before = drift(asked);
      if (happenings[0]!.kind !== "absent")
        expect(before.reasons).toContain("1 of the happenings cannot be met by waiting.");
      const table = mended(asked);
      expect(before.holds).toBe(table === inForce);
      staysRight(table, at, happenings);
    }
  });

  it("is told of a load whose unit fails under it", () => {
    const bake = work("bake");
    const at = later(bake.start, 3);
    expect(drift(morning(at, [{ kind: "out-of-service", unit: bake.unit!, from: at }])).reasons).toContainEqual(
      expect.stringContaining("cannot go on"),
    );
  });

  it("is told of what stands on a shelf that fails, until a repair has it carried off", () => {
    const at = "2026-11-27T02:00:00Z";
    const stands = inForce.tasks.find(
      ({ does, start, end }) => does === "retard" && start < at && end > later(at, 60),
    )!;
    const told: Happening[] = [{ kind: "out-of-service", unit: stands.places![0]!.unit, from: later(at, -7) }];
    expect(drift(morning(at, told)).reasons).toContainEqual(expect.stringContaining("out of service"));
    const table = mended(morning(at, told));
    expect(table.tasks.some(({ id }) => id === `${stands.id}-carried`)).toBe(true);
    staysRight(table, at, told);
  });

  it("counts no wait that is over", () => {
    const shape = inForce.tasks.find((task) => task.does === "shape" && task.start > "2026-11-27T04:45")!;
    const told: Happening = { kind: "not-started", task: shape.id };
    const asked = later(shape.start, 60);
    expect(drift(morning(asked, [told])).later).toContainEqual({ task: shape.id, minutes: 60 });
    const before = drift(morning(asked, [{ ...told, notBefore: later(shape.start, 15) }]));
    // It began a quarter of an hour late.
    expect(before.later.some(({ task }) => task === shape.id)).toBe(false);
  });

  it("that work had not started takes back what was told before of what comes after it, later too", () => {
    const bake = work("bake");
    const shape = inForce.tasks.find(({ does, load }) => does === "shape" && load === bake.load)!;
    const at = later(bake.start, 3);
    const told: Happening[] = [
      { kind: "started", task: bake.id, at: bake.start },
      { kind: "not-started", task: shape.id },
    ];
    const table = mended(morning(at, told));
    expect(table.tasks.find(({ id }) => id === bake.id)?.start).not.toBe(bake.start);
    expect(table.notStarted).toEqual([shape.id]);
    expect(mended(morning(at, told, table))).toBe(table);
  });

  it("that work cannot start yet holds where the planner locks it then, too", () => {
    let asked = 0;
    for (const shape of inForce.tasks
      .filter(({ does, start }) => does === "shape" && start > "2026-11-27T03:30")
      .slice(0, 12)) {
      const at = later(shape.start, -2);
      const told: Happening[] = [{ kind: "not-started", task: shape.id, notBefore: later(at, 70) }];
      const table = mended(morning(at, told));
      if (!table.tasks.some(({ id }) => id === shape.id)) continue;
      expect(mended(morning(at, [...told, { kind: "lock", task: shape.id }], table)), shape.id).toBe(table);
      asked++;
    }
    expect(asked).toBeGreaterThan(3);
  });
});
