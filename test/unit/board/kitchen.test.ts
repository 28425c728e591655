import { beforeAll, describe, expect, it } from "vitest";
import { asMarked } from "../../../services/board/logic/as-marked.js";
import { instantText, MINUTE } from "../../../services/board/logic/clock.js";
import { cardsOf } from "../../../services/board/logic/kitchen.js";
import { boardOf, countdown, statesOf } from "../../../services/board/logic/kitchen-board.js";
import { type Keep, Outbox, type Sent, type Waiting } from "../../../services/board/logic/outbox.js";
import { type Plan, readPlan } from "../../../services/board/logic/plan.js";
import { stationsOf } from "../../../services/board/logic/stations.js";
import { THROWN, type Told, type Trouble, troubleNote } from "../../../services/board/logic/trouble.js";
import { troubleIn } from "../../../services/marks/trouble.js";
import { demoDay } from "./plan-fixture.js";

let plan: Plan;
beforeAll(async () => {
  const { day, timetable } = await demoDay();
  plan = readPlan(day, timetable);
}, 300_000);

const station = (id: string) => plan.day.network.sites.flatMap(stationsOf).find((one) => one.id === id)!;

describe("a station's cards", { timeout: 60_000 }, () => {
  it("every worked task of the timetable is a card at one station, and what stands is in and out", () => {
    const cards = plan.day.network.sites.flatMap(stationsOf).flatMap((one) => cardsOf(plan, one));
    for (const task of plan.tasks) {
      const { does } = task.task;
      const own = cards.filter((card) => card.task === task.id || card.id === `${task.id} out`);
      if (["mix", "shape", "boil", "top", "bake", "pack", "clean"].includes(does)) expect(own.length, task.id).toBe(1);
      if (does === "proof" || does === "cool") expect(own.length, task.id).toBe(2);
      if (does === "retard" && (task.task.places?.length ?? 0) > 0)
        expect(own.length, task.id).toBeGreaterThanOrEqual(2);
    }
  });

  it("an oven's cards say where, how hot and what to light, in order of time", () => {
    const cards = cardsOf(plan, station("weir-yard/oven-1"));
    for (let i = 1; i < cards.length; i++) expect(cards[i]!.fromMs).toBeGreaterThanOrEqual(cards[i - 1]!.fromMs);
    const bake = cards.find((card) => card.verb === "Bake")!;
    expect(bake.where).toMatch(/^deck \d, positions? \d/);
    expect(bake.details[0]).toMatch(/^\d+ °C$/);
    expect(cards.some((card) => card.verb === "Light" && card.what.startsWith("deck"))).toBe(true);
    expect(bake.allergens.length).toBeGreaterThan(0);
  });

  it("a load that was given up while it bakes is to be thrown away there, and nobody is asked to start it", async () => {
    const { day, timetable } = await demoDay();
    const bake = timetable.tasks.find(({ does, unit }) => does === "bake" && unit === "weir-yard/oven-1/deck-2")!;
    const at = instantText("UTC", Date.parse(bake.start) + 8 * MINUTE);
    const why = "weir-yard/oven-1/deck-2 failed during its bake, and/or no deck is left.";
    const given = readPlan(day, {
      ...timetable,
      loads: timetable.loads.map((load) =>
        load.id === bake.load ? { ...load, orders: [], surplusPieces: load.pieces, scrapped: { at, why } } : load,
      ),
      tasks: timetable.tasks
        .filter((task) => task.load !== bake.load || Date.parse(task.start) <= Date.parse(bake.start))
        .map((task) => (task.id === bake.id ? { ...task, end: at } : task)),
    });
    const cards = cardsOf(given, station("weir-yard/oven-1")).filter((card) => card.details.includes(bake.load!));
    const said = "Deck oven east, deck 2 failed during its bake, and/or no deck is left.";
    expect(cards).toMatchObject([
      { verb: "Throw away", task: undefined, discards: bake.id, details: [said, bake.load], fromMs: Date.parse(at) },
    ]);
    expect(cards[0]!.where).toMatch(/^deck 2, position/);
    const later = boardOf(cards, new Map(), Date.parse(at) + 15 * MINUTE);
    expect(later.now.length).toBe(1);
    // It stays until somebody says so, which the server makes nothing of.
    const after = boardOf(cards, new Map(), Date.parse(at) + 60 * MINUTE);
    expect(after.missed.length).toBe(1);
    expect(troubleIn(THROWN)).toBeUndefined();
    const told: Told = { what: "trouble", task: bake.id, at, note: THROWN };
    expect(asMarked(given, cards, [told], statesOf([told]))).toEqual([]);
  });

  it("what is begun comes first, what is finished goes, what was never marked is not lost", () => {
    const cards = cardsOf(plan, station("weir-yard/spiral-1")).filter((card) => card.task);
    const [first, second, third] = cards;
    const now = third!.fromMs + MINUTE;
    const states = statesOf([
      { what: "finished", task: first!.task!, at: "2026-11-26T13:30:00Z" },
      // Sent late.
      { what: "started", task: first!.task!, at: "2026-11-26T13:10:00Z" },
      { what: "finished", task: second!.task!, at: "2026-11-26T13:20:00Z" },
      { what: "started", task: second!.task!, at: "2026-11-26T13:40:00Z" },
      { what: "trouble", task: second!.task!, at: "2026-11-26T13:41:00Z" },
    ]);
    const board = boardOf(cards, states, now);
    expect(board.now[0]!.id).toBe(second!.id);
    const all = [...board.now, ...board.next, ...board.missed].map((card) => card.id);
    expect(all).not.toContain(first!.id);
    expect(all.length).toBe(cards.length - 1);
  });

  const shown = (id: string, marks: readonly Told[], nowMs: number) => {
    const states = statesOf(marks);
    return boardOf(asMarked(plan, cardsOf(plan, station(id)), marks, states), states, nowMs);
  };

  it("what began late comes out late: pans that were just put in are never said to be done", () => {
    for (const id of ["weir-yard/oven-1", "weir-yard/spiral-1", "weir-yard/kettle-1"]) {
      const card = cardsOf(plan, station(id)).find((one) => one.task)!;
      const length = card.toMs - card.fromMs;
      for (const late of [-3, 2, 23]) {
        const startMs = card.fromMs + late * MINUTE;
        const marks: Told[] = [{ what: "started", task: card.task!, at: instantText("UTC", startMs) }];
        const now = shown(id, marks, startMs).now[0]!;
        expect(now).toMatchObject({ task: card.task, verb: card.verb, fromMs: startMs, toMs: startMs + length });
        expect(countdown(now.toMs, startMs).isOver).toBe(false);
        // Still without a line: the word that it takes longer counts at once.
        const longer: Told = { ...marks[0]!, what: "trouble", note: troubleNote({ is: "longer", minutes: 10 }) };
        expect(shown(id, [...marks, longer], startMs).now[0]!.toMs).toBe(startMs + length + 10 * MINUTE);
      }
    }
  });

  it("what was put in late is to be taken out so much later, as one card; a fridge keeps to what follows", () => {
    for (const [id, keeps] of [
      ["weir-yard/proofer-1", false],
      ["weir-yard/rack-row", false],
      ["weir-yard/walk-in", true],
    ] as const) {
      const put = cardsOf(plan, station(id)).find((one) => one.after)!;
      const task = plan.byId.get(put.task!)!;
      const startMs = put.fromMs + 7 * MINUTE;
      const marks: Told[] = [{ what: "started", task: task.id, at: instantText("UTC", startMs) }];
      const { now, next, missed } = shown(id, marks, startMs);
      const own = [...now, ...next, ...missed].filter((one) => one.task === task.id || one.outOf === task.id);
      expect(own).toMatchObject([{ verb: put.after, toMs: keeps ? task.toMs : task.toMs + 7 * MINUTE }]);
      const over = shown(id, [...marks, { ...marks[0]!, what: "finished" }], startMs);
      const left = [...over.now, ...over.next, ...over.missed];
      expect(left.some((one) => one.task === task.id || one.outOf === task.id)).toBe(false);
    }
  });

  it("counts down and over", () => {
    expect(countdown(12 * MINUTE, 0)).toEqual({ text: "in 12 min", isOver: false });
    expect(countdown(0, 10_000)).toEqual({ text: "now", isOver: false });
    expect(countdown(0, 4 * MINUTE)).toEqual({ text: "4 min over", isOver: true });
    expect(countdown(125 * MINUTE, 0).text).toBe("in 2 h 05");
  });
});

describe("trouble", { timeout: 60_000 }, () => {
  const all: Trouble[] = [
    { is: "longer", minutes: 10 },
    { is: "late", minutes: 5 },
    { is: "lost", pieces: 3 },
    { is: "spoiled" },
    { is: "short", kg: 2.5 },
    { is: "out" },
    { is: "out", minutes: 60 },
  ];
  it("is told in words that the server understands as they were meant", () => {
    for (const trouble of all) {
      const meant = trouble.is === "short" ? { is: "short", massG: 1000 * trouble.kg } : trouble;
      expect(troubleIn(troubleNote(trouble))).toEqual(meant);
    }
    expect(troubleIn("the cat is in the flour")).toBeUndefined();
  });
});

describe("marks without a connection", { timeout: 60_000 }, () => {
  const box = (answers: (item: Waiting<string>) => Sent, text: string | null = null) => {
    const sent: string[] = [];
    let kept = text;
    const keep: Keep = {
      read: () => kept,
      write: (next) => {
        kept = next;
      },
    };
    const outbox = new Outbox<string>(
      keep,
      async (item) => {
        const answer = answers(item);
        if (answer.is === "taken") sent.push(item.what);
        return answer;
      },
      () => undefined,
    );
    return { outbox, sent, kept: () => kept };
  };
  const item = (key: string): Waiting<string> => ({ key, at: "2026-11-27T04:00Z", what: key });

  it("wait in order, go out in order once the line is back, each once", async () => {
    let isUp = false;
    const { outbox, sent } = box(() => (isUp ? { is: "taken" } : { is: "unreachable" }));
    for (const key of ["a", "b", "c"]) outbox.add(item(key));
    await outbox.flush();
    expect(outbox.waiting.map((one) => one.key)).toEqual(["a", "b", "c"]);
    isUp = true;
    await Promise.all([outbox.flush(), outbox.flush()]);
    await outbox.flush();
    expect(sent).toEqual(["a", "b", "c"]);
    expect(outbox.waiting).toEqual([]);
  });

  it("survive a restart, and bad storage is not a crash", async () => {
    const first = box(() => ({ is: "unreachable" }));
    first.outbox.add(item("a"));
    await first.outbox.flush();
    const second = box(() => ({ is: "taken" }), first.kept());
    await second.outbox.flush();
    expect(second.sent).toEqual(["a"]);
    expect(box(() => ({ is: "taken" }), "{broken").outbox.waiting).toEqual([]);
  });

  it("a refused mark stays until a person has seen it, and does not hold up the others", async () => {
    const { outbox, sent } = box((one) => (one.key === "b" ? { is: "refused", why: "no such task" } : { is: "taken" }));
    for (const key of ["a", "b", "c"]) outbox.add(item(key));
    await outbox.flush();
    await outbox.flush();
    expect(sent).toEqual(["a", "c"]);
    expect(outbox.waiting).toMatchObject([{ key: "b", refusal: "no such task" }]);
    outbox.drop("b");
    expect(outbox.waiting).toEqual([]);
  });
});
