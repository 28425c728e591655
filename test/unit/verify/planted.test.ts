import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Dough, Fridge, Load, Task, Timetable, TubType } from "../../../schemas/index.js";
import { readDayFolder } from "../../../services/day-folder.js";
import { layoutRectangles } from "../../../solver/geometry/index.js";
import { type Breach, draw, verify } from "../../../solver/index.js";
import { fermentedHours } from "../../../solver/verify/yeast.js";
import { loadLp } from "../../support/lp.js";

/** A sound timetable of the demo day with a breach planted in it; the verifier must name the rule. */

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

let base: { day: DayDocuments; table: Timetable };

beforeAll(async () => {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  const lp = await loadLp();
  // Which hand-overs a plan uses depends on its course: the first plan that has warm and cold ones is taken.
  for (let seed = 1; seed <= 20; seed++) {
    const result = draw(read.day, { iterations: 150, seed, now: () => 0, lp });
    expect(result.breaches).toEqual([]);
    const kinds = new Set(result.timetable.loads.map(({ handOver }) => handOver));
    base = { day: read.day, table: result.timetable };
    if (kinds.has("baked") && (kinds.has("pans") || kinds.has("tubs"))) return;
  }
  throw new Error("no plan with warm and cold hand-overs");
}, 60_000);

function later(instant: string, minutes: number): string {
  return new Date(Date.parse(instant) + minutes * 60_000).toISOString().replace(".000Z", "Z");
}

function minutesBetween(a: string, b: string): number {
  return (Date.parse(b) - Date.parse(a)) / 60_000;
}

function task(scene: Scene, wanted: (task: Task) => boolean): Mutable<Task> {
  const found = scene.table.tasks.find((candidate) => wanted(candidate as Task));
  if (!found) throw new Error("the timetable has no such task");
  return found;
}

function does(scene: Scene, what: Task["does"]): Mutable<Task> {
  return task(scene, (candidate) => candidate.does === what);
}

function move(target: Mutable<Task>, minutes: number): void {
  target.start = later(target.start, minutes);
  target.end = later(target.end, minutes);
}

function load(scene: Scene, wanted: (load: Load) => boolean = () => true): Mutable<Load> {
  const found = scene.table.loads.find((candidate) => wanted(candidate as Load));
  if (!found) throw new Error("the timetable has no such load");
  return found;
}

function taskOf(scene: Scene, of: Mutable<Load>, what: Task["does"]): Mutable<Task> {
  return task(scene, (candidate) => candidate.load === of.id && candidate.does === what);
}

function product(scene: Scene, id: string) {
  return scene.day.catalogue.products.find((candidate) => candidate.id === id)!;
}

function everyDoughBears(scene: Scene, ferment: NonNullable<Mutable<Dough>["ferment"]>): void {
  for (const each of scene.day.catalogue.doughs) each.ferment = { ...ferment };
}

function dough(scene: Scene, id: string) {
  return scene.day.catalogue.doughs.find((candidate) => candidate.id === id)!;
}

function site(scene: Scene, id: string) {
  return scene.day.network.sites.find((candidate) => candidate.id === id)!;
}

function outage(scene: Scene, target: Mutable<Task>, unit: string): void {
  scene.day.happenings.happenings.push({ kind: "out-of-service", unit, from: target.start, to: target.end });
}

function lockOf(scene: Scene, target: Mutable<Task>): void {
  scene.day.happenings.happenings.push({ kind: "lock", task: target.id });
  scene.day.inForce = structuredClone(scene.table);
}

function retardMinutes(scene: Scene, of: Mutable<Load>): number {
  const own = scene.table.tasks.filter((candidate) => candidate.load === of.id && candidate.does === "retard");
  return minutesBetween(own[0]!.start, own.at(-1)!.end);
}

/** Two tasks that overlap in time with places on the same unit. */
function neighbours(scene: Scene, what: Task["does"]): [Mutable<Task>, Mutable<Task>] {
  const placed = scene.table.tasks.filter(
    (candidate) => candidate.does === what && (candidate.places?.length ?? 0) > 0,
  );
  for (const a of placed) {
    for (const b of placed) {
      if (a === b || Date.parse(a.start) >= Date.parse(b.end) || Date.parse(b.start) >= Date.parse(a.end)) continue;
      if (a.places![0]!.unit === b.places![0]!.unit) return [a, b];
    }
  }
  throw new Error(`no two ${what} tasks stand together`);
}

const PLANTED: readonly (readonly [Breach["rule"], string, string, (scene: Scene) => void])[] = [
  ["R1", "load-pieces", "a load with a piece too many", (s) => void load(s).pieces++],
  [
    "R1",
    "order-coverage",
    "an order short by a piece that nobody declared",
    (s) => {
      s.table.orders[0]!.shortPieces += 1;
    },
  ],
  ["R1", "order-missing", "an order without outcome", (s) => void s.table.orders.shift()],
  [
    "R1",
    "unknown-line",
    "a load for an order that is not there",
    (s) => {
      load(s).orders[0]!.line = "line-999";
    },
  ],
  [
    "R2",
    "load-mass",
    "a load with too little dough",
    (s) => {
      load(s).doughG -= 500;
    },
  ],
  [
    "R2",
    "batch-too-big",
    "a batch beyond the bowl",
    (s) => {
      const batch = s.table.batches[0]!;
      batch.massG += 100_000;
      batch.spareG += 100_000;
    },
  ],
  [
    "R2",
    "batch-mass",
    "a batch whose loads take more than it holds",
    (s) => {
      s.table.batches[0]!.massG -= 3000;
    },
  ],
  [
    "R2",
    "wrong-dough",
    "a load from a batch of another dough",
    (s) => {
      const own = load(s);
      own.batch = s.table.batches.find((batch) => batch.dough !== product(s, own.product).dough)!.id;
    },
  ],
  [
    "R2",
    "tub-too-full",
    "a tub beyond its mark",
    (s) => {
      const own = load(s, (l) => l.tubs.length > 0);
      own.tubs[0]!.doughG = 30_000;
    },
  ],
  [
    "R3",
    "mixer-overlap",
    "two batches in one bowl",
    (s) => {
      const first = does(s, "mix");
      const second = task(s, (t) => t.does === "mix" && t.id !== first.id && t.unit === first.unit);
      second.start = first.start;
      second.end = later(
        first.start,
        minutesBetween(
          base.table.tasks.find((t) => t.id === second.id)!.start,
          base.table.tasks.find((t) => t.id === second.id)!.end,
        ),
      );
    },
  ],
  [
    "R3",
    "mix-minutes",
    "a mix cut short",
    (s) => {
      const mix = does(s, "mix");
      mix.start = later(mix.start, 3);
    },
  ],
  [
    "R3",
    "not-cleaned",
    "a bowl not cleaned between doughs",
    (s) => {
      const mixers = s.day.network.sites.flatMap((each) => each.mixers.map((mixer) => `${each.id}/${mixer.id}`));
      const before = s.table.tasks.length;
      s.table.tasks = s.table.tasks.filter((t) => !(t.does === "clean" && mixers.includes(t.unit!)));
      if (s.table.tasks.length === before) throw new Error("no mixer was cleaned");
    },
  ],
  [
    "R4",
    "position-shared",
    "two items in one shelf position",
    (s) => {
      const [a, b] = neighbours(s, "retard");
      b.places![0] = { ...b.places![0]!, unit: a.places![0]!.unit, position: a.places![0]!.position };
    },
  ],
  [
    "R4",
    "no-such-position",
    "a position that the shelf does not have",
    (s) => {
      task(s, (t) => t.does === "retard" && t.places !== undefined).places![0]!.position = 40;
    },
  ],
  [
    "R4",
    "retard-too-short",
    "a retard below its least",
    (s) => {
      const retard = task(
        s,
        (t) =>
          t.does === "retard" &&
          load(s, (l) => l.id === t.load).handOver !== "tubs" &&
          load(s, (l) => l.id === t.load).handOver !== "pans",
      );
      retard.end = later(retard.start, 30);
    },
  ],
  [
    "R4",
    "too-heavy",
    "a shelf that bears less",
    (s) => {
      for (const each of s.day.network.sites)
        for (const fridge of each.fridges) for (const shelf of fridge.shelves) shelf.maxMassG = 4000;
    },
  ],
  [
    "R4",
    "fridge-heat",
    "a fridge with little cooling",
    (s) => {
      for (const each of s.day.network.sites) for (const fridge of each.fridges) fridge.heatRemovalW = 20;
    },
  ],
  [
    "R4",
    "item-places",
    "a tub left without a place",
    (s) => void task(s, (t) => t.does === "retard" && (t.places?.length ?? 0) > 0).places!.pop(),
  ],
  [
    "R5",
    "chills-too-slowly",
    "a fridge with still, warm air",
    (s) => {
      for (const fridge of site(s, "weir-yard").fridges) fridge.filmWPerM2K = 1;
    },
  ],
  [
    "R5",
    "chills-too-slowly",
    "a fridge that is hardly cold",
    (s) => {
      for (const fridge of site(s, "weir-yard").fridges) fridge.airTempC = 9.9;
    },
  ],
  [
    "R5",
    "chills-too-slowly",
    "a chilling limit of half an hour",
    (s) => {
      for (const each of s.day.catalogue.doughs) each.chill = { toTempC: 10, withinMinutes: 30 };
    },
  ],
  [
    "R5",
    "over-fermented",
    "a dough that bears two hours of its own warmth",
    (s) => everyDoughBears(s, { greatestHours: 2, atTempC: 25, model: "q10" }),
  ],
  [
    "R5",
    "tub-too-heavy",
    "tubs that are to bear two days, however short they stay",
    (s) => everyDoughBears(s, { greatestHours: 8, atTempC: 25, model: "q10", forMinutes: 2880 }),
  ],
  [
    "R5",
    "over-fermented",
    "a tub twice as heavy as its dough bears",
    (s) => {
      const own = load(s, (l) => l.tubs.length > 0);
      const fridges = site(s, s.table.batches.find((batch) => batch.id === own.batch)!.site).fridges;
      // What the tub ferments as it is, and a little: twice the dough is then too much.
      const bears = (massG: number): number =>
        fermentedHours(
          {
            ...dough(s, product(s, own.product).dough),
            ferment: { greatestHours: 1, atTempC: 25, model: "growth" },
          } as Dough,
          s.day.network.tubTypes[0] as TubType,
          fridges[0] as Fridge,
          massG,
          retardMinutes(s, own),
        );
      const tub = own.tubs[0]!;
      dough(s, product(s, own.product).dough).ferment = {
        greatestHours: bears(tub.doughG) * 1.2,
        atTempC: 25,
        model: "growth",
      };
      tub.doughG *= 2;
    },
  ],
  [
    "R5",
    "over-fermented",
    "a yeast that hardly minds the cold",
    (s) => everyDoughBears(s, { greatestHours: 8, atTempC: 25, model: "q10", q10: 1.1 }),
  ],
  [
    "R6",
    "too-short",
    "a proof that takes longer in a cold room",
    (s) => {
      for (const each of s.day.network.sites) each.roomTempC = 5;
      for (const each of s.day.catalogue.products)
        for (const route of each.routes)
          for (const step of route.steps)
            if (step.does === "proof") {
              step.greatestMinutes = 240;
              step.typicalMinutes = step.leastMinutes + 5;
              step.atTempC = 30;
            }
    },
  ],
  [
    "R6",
    "too-short",
    "a proofer that lost its heat",
    (s) => {
      for (const each of s.day.network.sites) for (const proofer of each.proofers) proofer.tempC = 18;
      for (const each of s.day.catalogue.products)
        for (const route of each.routes)
          for (const step of route.steps)
            if (step.does === "proof") {
              delete step.tempC;
              step.greatestMinutes = 300;
              step.typicalMinutes = step.greatestMinutes / 3;
              step.atTempC = 30;
            }
    },
  ],
  [
    "R6",
    "wait",
    "a shaping that does not follow its temper",
    (s) => {
      const own = load(
        s,
        (l) => l.route === "tubs" && s.table.tasks.some((t) => t.load === l.id && t.does === "shape"),
      );
      move(taskOf(s, own, "shape"), 1);
    },
  ],
  [
    "R6",
    "too-short",
    "a proof cut short",
    (s) => {
      const proof = does(s, "proof");
      proof.end = later(proof.start, 5);
    },
  ],
  [
    "R6",
    "too-long",
    "a cooling that never ends",
    (s) => {
      const cool = task(
        s,
        (t) => t.does === "cool" && !s.table.tasks.some((p) => p.load === t.load && p.does === "pack"),
      );
      cool.end = later(cool.start, 400);
    },
  ],
  [
    "R6",
    "step-minutes",
    "a shaping done in no time",
    (s) => {
      const shape = does(s, "shape");
      shape.end = later(shape.start, 1);
    },
  ],
  [
    "R6",
    "step-missing",
    "a load without its bake",
    (s) => {
      const bake = does(s, "bake");
      s.table.tasks = s.table.tasks.filter((t) => t.id !== bake.id);
    },
  ],
  [
    "R7",
    "crew",
    "a shift with nobody left",
    (s) => {
      for (const each of s.day.network.sites)
        for (const group of each.crew)
          for (const shift of group.shifts) shift.breaks = [{ from: shift.from, to: shift.to }];
    },
  ],
  [
    "R7",
    "no-skill",
    "a baker who cannot mix",
    (s) => {
      for (const group of site(s, "weir-yard").crew)
        group.skills = group.skills.filter((skill) => skill !== "mix").concat("sweep");
    },
  ],
  ["R7", "nobody", "a boil with nobody at the kettle", (s) => void delete does(s, "boil").crew],
  [
    "R7",
    "bench-places",
    "a bench with one place",
    (s) => {
      for (const each of s.day.network.sites) for (const bench of each.benches) bench.places = 0.5 as number;
    },
  ],
  [
    "R8",
    "not-hot",
    "a kettle that was never lit",
    (s) => {
      s.table.kettleProgram = [];
    },
  ],
  [
    "R8",
    "dip-too-full",
    "all pieces in one dip",
    (s) => {
      const boil = task(s, (t) => t.does === "boil" && (t.dips?.length ?? 0) > 1);
      const pieces = boil.dips!.reduce((sum, dip) => sum + dip.pieces, 0);
      boil.dips = [{ start: boil.dips![0]!.start, pieces }];
    },
  ],
  [
    "R8",
    "dip-time",
    "no recovery between dips",
    (s) => {
      const boil = task(s, (t) => t.does === "boil" && (t.dips?.length ?? 0) > 1);
      boil.dips![1]!.start = boil.dips![0]!.start;
    },
  ],
  [
    "R8",
    "kettle-overlap",
    "two loads in one kettle",
    (s) => {
      const first = does(s, "boil");
      const second = task(
        s,
        (t) => t.does === "boil" && t.id !== first.id && t.unit !== first.unit && t.site === first.site,
      );
      second.unit = first.unit!;
      second.start = first.start;
      second.end = first.end;
    },
  ],
  [
    "R8",
    "heat-up",
    "a kettle that boils at once",
    (s) => {
      s.table.kettleProgram[0]!.on[0]!.from = s.table.kettleProgram[0]!.on[0]!.boilsFrom;
    },
  ],
  [
    "R9",
    "pans-stock",
    "fewer pans than in use",
    (s) => {
      for (const each of s.day.network.sites) for (const pan of each.pans) pan.count = 3;
    },
  ],
  [
    "R9",
    "tubs-stock",
    "no tubs",
    (s) => {
      for (const each of s.day.network.sites) for (const tub of each.tubs) tub.count = 0;
    },
  ],
  [
    "R9",
    "position-shared",
    "two pans in one rack position",
    (s) => {
      const [a, b] = neighbours(s, "cool");
      b.places![0]!.position = a.places![0]!.position;
    },
  ],
  [
    "R9",
    "no-such-position",
    "a proofer position that is not there",
    (s) => {
      does(s, "proof").places![0]!.position = 500;
    },
  ],
  [
    "R10",
    "position-shared",
    "two pans in one deck position",
    (s) => {
      const [a, b] = neighbours(s, "bake");
      b.places![0]!.position = a.places![0]!.position;
    },
  ],
  [
    "R10",
    "no-such-position",
    "one pan more than fits on the deck",
    (s) => {
      const target = does(s, "bake");
      const used = s.table.loads.find((candidate) => candidate.id === target.load)!;
      const pan = s.day.network.panTypes.find(({ id }) => id === product(s, used.product).panType)!;
      for (const { id, ovens } of s.day.network.sites)
        for (const oven of ovens)
          for (const deck of oven.decks) {
            if (`${id}/${oven.id}/${deck.id}` !== target.unit) continue;
            const gap = deck.gapMm ?? 0;
            const fits = layoutRectangles(deck.widthMm, deck.depthMm, pan.widthMm, pan.depthMm, gap, gap).count;
            target.places![0]!.position = fits + 1;
          }
    },
  ],
  [
    "R10",
    "no-preheat",
    "an oven lit too late",
    (s) => {
      const on = s.table.ovenProgram[0]!.on[0]!;
      on.from = later(on.from, 20);
    },
  ],
  [
    "R10",
    "wrong-temperature",
    "a bake at another temperature",
    (s) => {
      does(s, "bake").tempC = 100;
    },
  ],
  [
    "R10",
    "not-hot",
    "a setpoint that was never set",
    (s) => {
      const program = s.table.ovenProgram.find((entry) => entry.setpoints.length > 1)!;
      program.setpoints.splice(1, 1);
    },
  ],
  [
    "R10",
    "setpoint-change",
    "decks that change temperature slowly",
    (s) => {
      for (const each of s.day.network.sites)
        for (const oven of each.ovens)
          for (const deck of oven.decks) {
            deck.coolDownCPerMinute = 0.05;
            deck.heatUpCPerMinute = 0.05;
          }
    },
  ],
  [
    "R10",
    "too-hot",
    "a deck that does not get so hot",
    (s) => {
      for (const each of s.day.network.sites)
        for (const oven of each.ovens) for (const deck of oven.decks) deck.maxTempC = 150;
    },
  ],
  ["R11", "out-of-service", "a bake on a deck that is out", (s) => outage(s, does(s, "bake"), does(s, "bake").unit!)],
  ["R11", "out-of-service", "a mix on a mixer that is out", (s) => outage(s, does(s, "mix"), does(s, "mix").unit!)],
  [
    "R11",
    "out-of-service",
    "tubs in a fridge that is out",
    (s) => {
      const retard = task(s, (t) => t.does === "retard" && (t.places?.length ?? 0) > 0);
      outage(s, retard, retard.places![0]!.unit.split("/").slice(0, 2).join("/"));
    },
  ],
  [
    "R12",
    "van-full",
    "a small van",
    (s) => {
      for (const run of s.day.network.vanRuns) run.positions = 1;
    },
  ],
  [
    "R12",
    "not-ready",
    "a load that is ready after the van has gone",
    (s) => {
      const own = load(s, (l) => l.handOver === "baked");
      const last = s.table.tasks.filter((t) => t.load === own.id && t.does !== "van").at(-1)!;
      last.end = later(taskOf(s, own, "van").start, 1);
    },
  ],
  [
    "R12",
    "no-such-trip",
    "a van that does not run",
    (s) => {
      does(s, "van").van = "night-bus-20261127";
    },
  ],
  ["R12", "ride-times", "a van that leaves later than it does", (s) => move(does(s, "van"), 5)],
  [
    "R12",
    "out-of-cold",
    "a chilled hand-over on a warm van",
    (s) => {
      load(s, (l) => l.handOver === "pans" || l.handOver === "tubs");
      for (const run of s.day.network.vanRuns) run.chilled = false;
      for (const each of s.day.catalogue.doughs) each.maxOutOfColdMinutes = 10;
    },
  ],
  [
    "R13",
    "too-early",
    "bread of the day before",
    (s) => {
      for (const line of s.day.orders.lines) line.freshWithinMinutes = 1;
    },
  ],
  [
    "R13",
    "late-minutes",
    "a delay that is not told",
    (s) => {
      s.table.orders[0]!.lateMinutes += 30;
    },
  ],
  [
    "R13",
    "ready",
    "a time at which it is not ready",
    (s) => {
      const order = s.table.orders.find((candidate) => candidate.ready !== undefined)!;
      order.ready = later(order.ready!, -60);
    },
  ],
  [
    "R13",
    "state",
    "a state that is not so",
    (s) => {
      s.table.orders[0]!.state = "late-and-short";
    },
  ],
  [
    "R14",
    "locked-moved",
    "a locked task at another time",
    (s) => {
      const mix = does(s, "mix");
      lockOf(s, mix);
      move(mix, 1);
    },
  ],
  [
    "R14",
    "locked-moved",
    "a locked bake on another deck",
    (s) => {
      const bake = does(s, "bake");
      lockOf(s, bake);
      bake.unit = task(s, (t) => t.does === "bake" && t.unit !== bake.unit && t.site === bake.site).unit!;
    },
  ],
  [
    "R14",
    "locked-gone",
    "a locked task that is gone",
    (s) => {
      const mix = does(s, "mix");
      lockOf(s, mix);
      s.table.tasks = s.table.tasks.filter((t) => t.id !== mix.id);
    },
  ],
  [
    "R14",
    "locked-changed",
    "a locked load of another size",
    (s) => {
      const bake = does(s, "bake");
      lockOf(s, bake);
      load(s, (l) => l.id === bake.load).pieces--;
    },
  ],
  [
    "R15",
    "not-cleaned",
    "benches that are not cleaned",
    (s) => {
      const benches = s.day.network.sites.flatMap((each) => each.benches.map((bench) => `${each.id}/${bench.id}`));
      s.table.tasks = s.table.tasks.filter((t) => !(t.does === "clean" && benches.includes(t.unit!)));
    },
  ],
  [
    "R15",
    "not-cleaned",
    "a bench cleaned for a minute only",
    (s) => {
      for (const each of s.day.network.sites) for (const bench of each.benches) bench.cleaningMinutes = 45;
    },
  ],
  [
    "R15",
    "not-cleaned",
    "a topping with an allergen that nobody expected",
    (s) => {
      const first = s.day.catalogue.ingredients.find((ingredient) => ingredient.id === "poppy")!;
      first.allergens = ["nuts"];
    },
  ],
  [
    "R15",
    "not-cleaned",
    "a lye bath and a plain boil in the same water",
    (s) => {
      const kettles = s.table.tasks.filter((t) => t.does === "boil");
      const lye = kettles.find(
        (t) => dough(s, product(s, load(s, (l) => l.id === t.load).product).dough).id === "twist",
      )!;
      const plain = kettles.find(
        (t) => dough(s, product(s, load(s, (l) => l.id === t.load).product).dough).id === "ring",
      )!;
      lye.unit = plain.unit!;
      s.table.tasks = s.table.tasks.filter((t) => !(t.does === "clean" && t.unit === plain.unit));
    },
  ],
  [
    "R16",
    "warm-too-long",
    "a limit of ten minutes",
    (s) => {
      for (const each of s.day.catalogue.doughs) each.holdingLimit = { warmMinutes: 10, label: "test" };
    },
  ],
  [
    "R16",
    "warm-too-long",
    "a dough that got a limit",
    (s) => {
      dough(s, "ring").holdingLimit = { warmMinutes: 20, label: "test" };
    },
  ],
  [
    "R16",
    "warm-too-long",
    "a limit of the settings, stricter than the dough's own",
    (s) => {
      s.day.settings.limits = [{ id: "strict", jurisdiction: "Test", source: "section 1", warmMinutes: 15 }];
      for (const each of s.day.catalogue.doughs) each.limit = "strict";
    },
  ],
  [
    "R16",
    "fridge-too-warm",
    "a fridge above the limit of what stands in it",
    (s) => {
      s.day.settings.limits = [{ id: "cold", jurisdiction: "Test", source: "section 2", coldAtMostC: 2 }];
      for (const each of s.day.catalogue.doughs) each.limit = "cold";
    },
  ],
  [
    "R16",
    "fridge-too-warm",
    "a fridge that was turned up",
    (s) => {
      s.day.settings.limits = [{ id: "cold", jurisdiction: "Test", source: "section 2", coldAtMostC: 5 }];
      for (const each of s.day.catalogue.doughs) each.limit = "cold";
      for (const each of s.day.network.sites) for (const fridge of each.fridges) fridge.airTempC = 5.5;
    },
  ],
  [
    "R12",
    "out-of-cold",
    "a limit of the settings for rides",
    (s) => {
      s.day.settings.limits = [{ id: "ride", jurisdiction: "Test", source: "section 3", outOfColdMinutes: 1 }];
      for (const each of s.day.catalogue.doughs) each.limit = "ride";
    },
  ],
  [
    "R10",
    "no-preheat",
    "a deck that takes longer from cold by its heat balance",
    (s) => {
      for (const each of s.day.network.sites)
        for (const oven of each.ovens)
          for (const deck of oven.decks) {
            delete deck.coldStartMinutes;
            deck.heatCapacityKjPerK = 300;
            deck.preheatKw = 3;
          }
    },
  ],
  [
    "R16",
    "warm-too-long",
    "a bake put off for hours",
    (s) => {
      const own = load(s, (l) => product(s, l.product).dough === "roll");
      move(taskOf(s, own, "bake"), 300);
    },
  ],
  [
    "form",
    "cost",
    "a cost that does not add up",
    (s) => {
      s.table.cost.total -= 5;
    },
  ],
  [
    "form",
    "bound",
    "a bound above the cost",
    (s) => {
      s.table.bound = s.table.cost.total + 1;
    },
  ],
  ["form", "outside-window", "a task before the window", (s) => move(does(s, "mix"), -600)],
  [
    "form",
    "duplicate-id",
    "a task that is there twice",
    (s) => {
      s.table.tasks[1]!.id = s.table.tasks[0]!.id;
    },
  ],
];

describe("planted breaches", () => {
  it.each(PLANTED)("%s %s: %s", (rule, code, _name, plant) => {
    const scene = structuredClone(base) as unknown as Scene;
    scene.table = structuredClone(base.table) as Mutable<Timetable>;
    scene.day = structuredClone(base.day) as Mutable<DayDocuments>;
    plant(scene);
    const breaches = verify(scene.day as DayDocuments, scene.table as Timetable);
    const found = breaches.filter((breach) => breach.rule === rule && breach.code === code);
    expect(found.length, JSON.stringify(breaches.slice(0, 5))).toBeGreaterThan(0);
    for (const breach of found) expect(breach.message).toMatch(/[a-z]{3}/);
  });

  it("has at least three for each rule", () => {
    for (let rule = 1; rule <= 16; rule++) {
      expect(PLANTED.filter(([name]) => name === `R${rule}`).length, `R${rule}`).toBeGreaterThanOrEqual(3);
    }
  });
});
