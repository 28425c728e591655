import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Happening, Task, Timetable } from "../../../schemas/index.js";
import { readDayFolder } from "../../../services/day-folder.js";
import { type Breach, draw, repair, verify } from "../../../solver/index.js";
import { loadLp } from "../../support/lp.js";

/** A sound repair of the demo morning with a breach planted in it; the verifier must name the rule and the code. */

type Mutable<T> = {
  -readonly [K in keyof T]: T[K] extends readonly (infer U)[]
    ? Mutable<U>[]
    : T[K] extends object
      ? Mutable<T[K]>
      : T[K];
};

interface Scene {
  day: Mutable<DayDocuments>;
  table: Mutable<Timetable>;
}

const AT = "2026-11-27T05:00";
const NOW = Date.parse(`${AT}:00Z`);
const DECK = "weir-yard/oven-1/deck-2";
let base: Scene;

beforeAll(async () => {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  const lp = await loadLp();
  const inForce = draw(read.day, { iterations: 400, seed: 2, now: () => 0, lp }).timetable;
  const happenings: Happening[] = [{ kind: "out-of-service", unit: DECK, from: AT, to: "2026-11-27T06:30" }];
  const day = { ...read.day, inForce, happenings: { format: "happenings/1" as const, at: AT, happenings } };
  const result = repair(day, { iterations: 100, seed: 1, now: () => 0, lp });
  expect(result.breaches).toEqual([]);
  base = { day, table: result.timetable } as unknown as Scene;
}, 90_000);

function breachesOf(change: (scene: Scene) => void): Breach[] {
  // Apart: they share parts.
  const scene = { day: structuredClone(base.day), table: structuredClone(base.table) };
  change(scene);
  return verify(scene.day as DayDocuments, scene.table as Timetable);
}

function task(scene: Scene, wanted: (task: Task) => boolean): Mutable<Task> {
  const found = scene.table.tasks.find((candidate) => wanted(candidate as Task));
  if (!found) throw new Error("the timetable has no such task");
  return found;
}

/** A bake on another deck of the site while one is out. */
const lockable = (scene: Scene): Mutable<Task> =>
  task(
    scene,
    (one) =>
      one.does === "bake" &&
      ahead(one) &&
      Date.parse(one.end) < NOW + 90 * 60_000 &&
      one.site === "weir-yard" &&
      one.unit !== DECK &&
      scene.day.inForce!.tasks.some(({ id, unit, start }) => id === one.id && unit === one.unit && start === one.start),
  );

const done = (one: Task): boolean => Date.parse(one.end) < NOW;
const ahead = (one: Task): boolean => Date.parse(one.start) > NOW + 10 * 60_000;

function later(instant: string, minutes: number): string {
  return new Date(Date.parse(instant) + minutes * 60_000).toISOString().replace(".000Z", "Z");
}

function tell(scene: Scene, happening: Happening): void {
  (scene.day.happenings.happenings as Happening[]).push(happening);
}

const PLANTED: readonly (readonly [what: string, rule: string, code: string, change: (scene: Scene) => void])[] = [
  [
    "a begun bake starts a minute later",
    "R14",
    "begun-moved",
    (scene) => {
      const bake = task(scene, (one) => one.does === "bake" && done(one));
      bake.start = later(bake.start, 1);
      bake.end = later(bake.end, 1);
    },
  ],
  [
    "a begun shape is at another bench",
    "R14",
    "begun-moved",
    (scene) => {
      task(scene, (one) => one.does === "shape" && done(one) && one.site === "weir-yard").unit = "weir-yard/bench-9";
    },
  ],
  [
    "a tub has stood in another place",
    "R14",
    "begun-moved",
    (scene) => {
      task(scene, (one) => one.does === "retard" && done(one)).places![0]!.position += 1;
    },
  ],
  [
    "a begun task is gone",
    "R14",
    "begun-gone",
    (scene) => {
      const gone = task(scene, (one) => one.does === "mix" && done(one));
      scene.table.tasks.splice(scene.table.tasks.indexOf(gone), 1);
    },
  ],
  [
    "a load that has begun has other pieces",
    "R14",
    "begun-changed",
    (scene) => {
      const bake = task(scene, (one) => one.does === "bake" && done(one));
      scene.table.loads.find((load) => load.id === bake.load)!.pieces += 1;
    },
  ],
  [
    "work ahead is moved into the past",
    "R14",
    "in-the-past",
    (scene) => {
      const shape = task(scene, (one) => one.does === "shape" && ahead(one));
      shape.start = later(`${AT}:00Z`, -20);
    },
  ],
  [
    "a bake is on the deck that is out",
    "R11",
    "out-of-service",
    (scene) => {
      const bake = task(scene, (one) => one.does === "bake" && ahead(one) && one.site === "weir-yard");
      bake.unit = DECK;
      bake.start = later(`${AT}:00Z`, 20);
      bake.end = later(`${AT}:00Z`, 40);
      for (const place of bake.places!) place.unit = DECK;
    },
  ],
  [
    "a scrapped load is given to an order",
    "R1",
    "scrapped-given",
    (scene) => {
      const load = scene.table.loads.find(({ orders }) => orders.length > 0)!;
      load.scrapped = { at: `${AT}:00Z`, why: "planted" };
    },
  ],
  [
    "lost pieces are not declared",
    "R1",
    "lost-pieces",
    (scene) => {
      const bake = task(scene, (one) => one.does === "bake" && done(one));
      tell(scene, { kind: "pieces-lost", load: bake.load!, pieces: 1 });
    },
  ],
  [
    "a spoiled load is still used",
    "R14",
    "spoiled-used",
    (scene) => {
      const bake = task(scene, (one) => one.does === "bake" && ahead(one));
      tell(scene, { kind: "spoiled", load: bake.load! });
    },
  ],
  [
    "a held task is elsewhere",
    "R14",
    "not-held",
    (scene) => {
      const bake = task(scene, (one) => one.does === "bake" && ahead(one));
      tell(scene, { kind: "hold", task: bake.id, start: later(bake.start, 5) });
    },
  ],
  [
    "a slower bench works as fast as before",
    "R6",
    "step-minutes",
    (scene) => {
      const shape = task(scene, (one) => one.does === "shape" && ahead(one));
      tell(scene, { kind: "slower", unit: shape.unit!, percent: 300 });
    },
  ],
  [
    "positions that a rack has lost are used",
    "R11",
    "smaller",
    (scene) => {
      const cool = task(scene, (one) => one.does === "cool" && ahead(one));
      tell(scene, { kind: "smaller", unit: cool.places![0]!.unit, positions: 0, from: AT });
    },
  ],
  [
    "a report says otherwise than the timetable",
    "R14",
    "begun-moved",
    (scene) => {
      const bake = task(scene, (one) => one.does === "bake" && done(one));
      tell(scene, { kind: "finished", task: bake.id, at: later(bake.end, 1) });
    },
  ],
  [
    "a trip that is late leaves on time",
    "R12",
    "ride-times",
    (scene) => {
      const van = task(scene, (one) => one.does === "van" && ahead(one));
      tell(scene, { kind: "van-late", trip: van.van!, minutes: 7 });
    },
  ],
  [
    "what has not left with a late trip rides it after the window",
    "form",
    "outside-window",
    (scene) => {
      const van = task(scene, (one) => one.does === "van" && ahead(one));
      tell(scene, { kind: "van-late", trip: van.van!, minutes: 600 });
      van.start = later(van.start, 600);
      van.end = later(van.end, 600);
    },
  ],
  ...(["shape", "clean"] as const).map((does): (typeof PLANTED)[number] => [
    `a ${does} that has not begun is on a unit that is out`,
    "R11",
    "out-of-service",
    (scene) => {
      const { unit, start, end } = task(scene, (one) => one.does === does && ahead(one));
      scene.day.happenings.happenings = [];
      tell(scene, { kind: "out-of-service", unit: unit!, from: later(start, 1), to: end });
    },
  ]),
  [
    "a locked bake is gone, though its own deck is in service",
    "R14",
    "locked-gone",
    (scene) => {
      const bake = lockable(scene);
      tell(scene, { kind: "lock", task: bake.id });
      scene.table.tasks.splice(scene.table.tasks.indexOf(bake), 1);
    },
  ],
  [
    "a held bake is elsewhere, though the deck that it is to be on is in service",
    "R14",
    "not-held",
    (scene) => {
      const bake = lockable(scene);
      tell(scene, { kind: "hold", task: bake.id, start: bake.start, unit: bake.unit! });
      bake.unit = `${bake.unit!.slice(0, -1)}9`;
    },
  ],
  [
    "an order was cancelled",
    "R1",
    "unknown-line",
    (scene) => tell(scene, { kind: "order-cancelled", line: scene.table.loads[0]!.orders[0]!.line }),
  ],
  [
    "a bake is split without need",
    "R6",
    "bake-split",
    (scene) => {
      const bake = task(scene, (one) => one.does === "bake" && ahead(one));
      const middle = later(bake.start, 5);
      scene.table.tasks.push({ ...structuredClone(bake), id: `${bake.id}-2`, start: middle });
      bake.end = middle;
    },
  ],
];

describe("planted breaches of a repair", () => {
  it.each(PLANTED)("%s: %s %s", (_what, rule, code, change) => {
    const found = breachesOf(change).map((breach) => `${breach.rule} ${breach.code}`);
    expect(found).toContain(`${rule} ${code}`);
  });
});
