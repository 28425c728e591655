import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Happening, Task } from "../../../schemas/index.js";
import { statesOf } from "../../../services/board/logic/kitchen-board.js";
import { type Trouble, troubleNote } from "../../../services/board/logic/trouble.js";
import {
  asBelieved,
  happeningOf,
  MARKED,
  type Mark,
  minuteOf,
  type NewMark,
  tasksOf,
} from "../../../services/marks/mark.js";
import { asMarked, progressOf } from "../../../services/marks/progress.js";
import { withMarks } from "../../../services/marks/told.js";
import { formatInstant, resolveWindow } from "../../../solver/calendar.js";
import { checkDay } from "../../../solver/check/index.js";
import { draw, drift, repair, verify } from "../../../solver/index.js";
import { createRng } from "../../../solver/rng.js";
import { randomDay } from "../../days/random-day.js";
import { loadLp } from "../../support/lp.js";

let lp: Awaited<ReturnType<typeof loadLp>>;
/** One that the tests of single marks share. */
let day: DayDocuments;
let count = 0;
const LONG_AGO = "2020-01-01T00:00:00Z";

beforeAll(async () => {
  lp = await loadLp();
  [day] = days(40, 1) as [DayDocuments];
});

/** A small day with a timetable in force; undefined when none of its orders can be made. */
function dayOf(seed: number): DayDocuments | undefined {
  const { inForce: _, ...day } = randomDay(seed, "tiny");
  const fresh = { ...day, happenings: { ...day.happenings, happenings: [] } };
  const { timetable } = draw(fresh, { iterations: 10, seed: 1, now: () => 0, lp });
  return timetable.tasks.length > 3 ? { ...fresh, inForce: timetable } : undefined;
}

function days(from: number, wanted: number): DayDocuments[] {
  const found: DayDocuments[] = [];
  for (let seed = from; found.length < wanted; seed++) {
    const day = dayOf(seed);
    if (day) found.push(day);
  }
  return found;
}

const zoneOf = (day: DayDocuments, task: Task): string =>
  day.network.sites.find((site) => site.id === task.site)!.timeZone;

function mark(day: DayDocuments, task: Task, fresh: Omit<NewMark, "task">, more: Partial<Mark> = {}): Mark {
  const told = { ...fresh, task: task.id };
  const happening = happeningOf(told, "bench", task, zoneOf(day, task));
  return {
    id: String(count++).padStart(26, "0"),
    site: task.site,
    ...told,
    receivedAt: told.at,
    by: "bench",
    version: 1,
    plannedStart: task.start,
    ...(happening ? { happening } : {}),
    ...more,
  };
}

/** Minutes after (before: negative) an instant. */
const later = (instant: string, minutes: number): string => formatInstant(minuteOf(instant) + minutes, "UTC");
const told = (day: DayDocuments, marks: readonly Mark[], now = LONG_AGO): DayDocuments =>
  withMarks(day, { marks, version: 1, now });
const first = (day: DayDocuments, does: Task["does"]): Task => day.inForce!.tasks.find((task) => task.does === does)!;

describe("what stations mark", { timeout: 60_000 }, () => {
  it("whatever they mark, the day stays in order and its repair keeps the rules", () => {
    const rng = createRng(5);
    let facts = 0;
    for (const day of days(300, 5)) {
      const window = resolveWindow(day.settings, day.network) as { fromMinute: number; toMinute: number };
      const marks = day.inForce!.tasks.flatMap((task): Mark[] => {
        const at = later(task.start, rng.below(40) - 15);
        const isInside = minuteOf(at) >= window.fromMinute && minuteOf(at) <= window.toMinute;
        if (!isInside || rng.below(3) === 0) return [];
        const words: Omit<NewMark, "task">[] = [
          { what: "started", at },
          { what: "finished", at: later(task.end, rng.below(30) - 5) },
          {
            what: "trouble",
            at,
            note: ["takes 7 min longer", "2 pieces lost", "a smell", "all of it spoiled"][rng.below(4)]!,
          },
        ];
        return words.slice(0, 1 + rng.below(3)).map((word) => mark(day, task, word));
      });
      // The morning is told of up to some moment.
      const until = window.fromMinute + rng.below(window.toMinute - window.fromMinute);
      const so = told(
        day,
        marks.filter(({ at }) => minuteOf(at) <= until),
      );
      if (so === day) continue;
      facts += so.happenings.happenings.length;
      expect(checkDay(so)).toEqual([]);
      const repaired = repair(so, { iterations: 10, now: () => 0, lp });
      expect(verify(so, repaired.timetable)).toEqual([]);
    }
    expect(facts).toBeGreaterThan(20);
  });

  it("what cannot be true beside a later step, or beside a planner's word, is left out", () => {
    const shape = first(day, "shape");
    const bake = day.inForce!.tasks.find(({ does, load }) => does === "bake" && load === shape.load)!;
    const forgotten = told(day, [
      mark(day, bake, { what: "started", at: later(bake.start, 0) }),
      mark(day, shape, { what: "started", at: later(bake.start, 50) }),
      mark(day, shape, { what: "finished", at: later(bake.start, 51) }),
    ]);
    expect(checkDay(forgotten)).toEqual([]);
    const said = ({ happenings }: DayDocuments): unknown[] =>
      happenings.happenings.map((one) => [one.kind, "task" in one ? one.task : ""]);
    expect(said(forgotten)).toEqual([
      ["started", bake.id],
      ["finished", shape.id],
    ]);
    expect(repair(forgotten, { iterations: 10, now: () => 0, lp }).breaches).toEqual([]);
    const own: Happening = { kind: "started", task: bake.id, at: later(bake.start, 40) };
    const planned = { ...day, happenings: { ...day.happenings, at: later(bake.start, 45), happenings: [own] } };
    const beside = told(planned, [
      mark(day, bake, { what: "started", at: later(bake.start, 0) }),
      mark(day, bake, { what: "finished", at: later(bake.start, 50) }),
    ]);
    expect(checkDay(beside)).toEqual([]);
    expect(beside.happenings.happenings).toEqual([own, expect.not.objectContaining({ startedAt: expect.anything() })]);
  });

  it("a late start is known to the drift, and the last word on a task counts", () => {
    const bake = first(day, "bake");
    const late = told(day, [
      mark(day, bake, { what: "started", at: later(bake.start, 3) }),
      mark(day, bake, { what: "started", at: later(bake.start, 75) }),
    ]);
    expect(late.happenings.at).toBeDefined();
    expect(late.happenings.happenings).toEqual([
      { kind: "started", task: bake.id, at: expect.stringContaining(""), note: `${MARKED}bench` },
    ]);
    expect(minuteOf((late.happenings.happenings[0] as { at: string }).at)).toBe(minuteOf(bake.start) + 75);
    const slack = (one: DayDocuments): number =>
      drift(one).orders.reduce((sum, order) => sum + (order.slackNowMinutes ?? -1e6), 0);
    expect(slack(late)).toBeLessThan(slack({ ...day, happenings: { ...day.happenings, at: late.happenings.at! } }));
  });

  it("a start that another tablet sends late does not undo the finish that came in before it", () => {
    const mix = first(day, "mix");
    const finish = mark(day, mix, { what: "finished", at: later(mix.end, 4) });
    const start = mark(day, mix, { what: "started", at: later(mix.start, 2) });
    for (const marks of [
      [start, finish],
      [finish, start],
    ])
      expect(told(day, marks, later(mix.end, 5)).happenings.happenings).toMatchObject([
        { kind: "finished", task: mix.id, at: finish.at, startedAt: start.at },
      ]);
    const anew = mark(day, mix, { what: "started", at: later(mix.end, 5) });
    expect(told(day, [finish, anew], later(mix.end, 6)).happenings.happenings).toMatchObject([
      { kind: "started", task: mix.id },
    ]);
  });

  it("work past its end and not marked finished still runs; after a while it was forgotten to be marked", () => {
    const mix = first(day, "mix");
    const marks = [mark(day, mix, { what: "started", at: mix.start })];
    const kinds = (now: string): string[] => told(day, marks, now).happenings.happenings.map(({ kind }) => kind);
    expect(kinds(later(mix.end, -2))).toEqual(["started"]);
    const running = told(day, marks, later(mix.end, 5)).happenings;
    expect(running.happenings.map(({ kind }) => kind)).toEqual(["started", "running"]);
    expect(minuteOf((running.happenings[1] as { until: string }).until)).toBe(minuteOf(mix.end) + 6);
    expect(kinds(later(mix.end, 45))).toEqual(["started"]);
    const finished = [...marks, mark(day, mix, { what: "finished", at: later(mix.end, 4) })];
    expect(told(day, finished, later(mix.end, 5)).happenings.happenings).toMatchObject([
      { kind: "finished", task: mix.id, startedAt: (running.happenings[0] as { at: string }).at },
    ]);
  });

  it("what began late is over late, and takes longer on top of that; what waits to be called for goes on as planned", () => {
    const bake = first(day, "bake");
    const length = minuteOf(bake.end) - minuteOf(bake.start);
    const began = { task: bake.id, what: "started" as const, at: later(bake.start, 23) };
    const longer = { task: bake.id, what: "trouble" as const, at: later(bake.start, 25), note: "takes 10 min longer" };
    const from = minuteOf(began.at);
    expect(progressOf(bake, [])).toEqual({ start: undefined, end: minuteOf(bake.end) });
    expect(progressOf(bake, [began])).toEqual({ start: from, end: from + length });
    expect(progressOf(bake, [began, longer])).toEqual({ start: from, end: from + length + 10 });
    // The server's word on the same mark is not counted once more.
    const running: Happening = { kind: "running", task: bake.id, until: later(began.at, length + 10) };
    expect(progressOf(bake, [began, { ...longer, happening: running }]).end).toBe(from + length + 10);
    // A second start is the last word.
    expect(progressOf(bake, [began, { ...began, at: later(bake.start, 30) }]).end).toBe(minuteOf(bake.end) + 30);
    // So the repair, too, hears of an end that the pieces can be done by.
    const zone = zoneOf(day, bake);
    const seen = asMarked(bake, [mark(day, bake, { what: "started", at: began.at })], zone);
    const until = (happeningOf(longer, "bench", seen, zone) as { until: string }).until;
    expect(minuteOf(until)).toBe(from + length + 10);
    const stays = { ...bake, does: "retard" as const };
    expect(progressOf(stays, [began]).end).toBe(Math.max(minuteOf(bake.end), from));
  });

  it("what a planner wrote of the same thing counts instead, each once; what was set aside does not count", () => {
    const bake = first(day, "bake");
    const lost = (pieces: number): Mark =>
      mark(day, bake, { what: "trouble", at: bake.start, trouble: { is: "lost", pieces } });
    const marks = [lost(1), lost(2), mark(day, bake, { what: "started", at: later(bake.start, 2) })];
    const all = told(day, marks);
    expect(all.happenings.happenings.filter(({ kind }) => kind === "pieces-lost")).toHaveLength(2);
    const written: Happening[] = [
      { kind: "pieces-lost", load: bake.load!, pieces: 1 },
      { kind: "started", task: bake.id, at: later(bake.start, 9) },
    ];
    const so = told(
      { ...day, happenings: { ...day.happenings, at: later(bake.start, 9), happenings: written } },
      marks,
    );
    expect(so.happenings.happenings.slice(0, 2)).toEqual(written);
    expect(so.happenings.happenings.slice(2)).toMatchObject([{ kind: "pieces-lost", pieces: 2 }]);
    expect(minuteOf(so.happenings.at!)).toBe(minuteOf(bake.start) + 9);
    const aside = marks.map((one) => ({ ...one, setAside: { at: LONG_AGO, by: "office" } }));
    expect(told(day, aside)).toBe(day);
    // Told again with what it gave: nothing is told twice.
    const sorted = (one: DayDocuments): string[] =>
      one.happenings.happenings.map((each) => JSON.stringify(each)).sort();
    expect(sorted(told(all, marks))).toEqual(sorted(all));
  });

  it("a timetable that was drawn up anew and uses a name again for something else has nothing to do with old marks", () => {
    const mix = first(day, "mix");
    const old = mark(day, mix, { what: "finished", at: mix.end }, { version: 0, plannedStart: later(mix.start, -90) });
    expect(told(day, [old])).toBe(day);
    expect(told(day, [{ ...old, plannedStart: mix.start }])).not.toBe(day);
  });

  /** What a job took from the marks and found, put in force: the next version. */
  const putInForce = (so: DayDocuments): DayDocuments => {
    const { timetable, breaches } = repair(so, { iterations: 10, now: () => 0, lp, onlyOne: true });
    expect(breaches).toEqual([]);
    return { ...so, inForce: timetable };
  };
  const taskIn = (one: DayDocuments, id: string): Task => one.inForce!.tasks.find((task) => task.id === id)!;
  const reportsOf = (one: DayDocuments): Happening[] => [...one.happenings.happenings];

  it("a finish that was marked is still known when the real start is in force, however often it was corrected", () => {
    const bake = first(day, "bake");
    const marks = [
      mark(day, bake, { what: "started", at: later(bake.start, 3) }),
      mark(day, bake, { what: "started", at: later(bake.start, 2) }),
      mark(day, bake, { what: "finished", at: later(bake.end, -2) }),
    ];
    const next = putInForce(told(day, marks, bake.end));
    expect(minuteOf(taskIn(next, bake.id).start)).toBe(minuteOf(bake.start) + 2);
    const now = later(bake.end, 3);
    const so = withMarks(next, { marks, version: 2, now });
    expect(reportsOf(so)).toMatchObject([{ kind: "finished", task: bake.id }]);
    const after = putInForce(so);
    expect(minuteOf(taskIn(after, bake.id).end)).toBe(minuteOf(bake.end) - 2);
    // Marked as begun at another minute before the finish: that is corrected; after it: it was begun anew.
    const corrected = [...marks, mark(next, taskIn(next, bake.id), { what: "started", at: later(bake.start, 4) })];
    expect(reportsOf(withMarks(next, { marks: corrected, version: 2, now }))).toMatchObject([
      { kind: "finished", startedAt: later(bake.start, 4) },
    ]);
    const again = [...marks, mark(next, taskIn(next, bake.id), { what: "started", at: later(bake.end, 1) })];
    expect(reportsOf(withMarks(next, { marks: again, version: 2, now }))[0]).toMatchObject({ kind: "started" });
    // What was only marked as finished, sooner than it was planned to begin, and is spoken of again.
    const early = [mark(day, bake, { what: "finished", at: later(bake.start, -2) })];
    const third = putInForce(told(day, early, bake.start));
    const lost = mark(third, taskIn(third, bake.id), {
      what: "trouble",
      at: bake.start,
      trouble: { is: "lost", pieces: 1 },
    });
    const said = withMarks(third, { marks: [...early, { ...lost, version: 2 }], version: 2, now: bake.end });
    expect(
      reportsOf(said)
        .map(({ kind }) => kind)
        .sort(),
    ).toEqual(["finished", "pieces-lost"]);
  });

  it("what was put in force of marks is gone when all that bear it out are set aside", () => {
    const bake = first(day, "bake");
    const lost = (): Mark => mark(day, bake, { what: "trouble", at: bake.start, trouble: { is: "lost", pieces: 1 } });
    const marks = [
      mark(day, bake, { what: "started", at: later(bake.start, 2) }),
      mark(day, bake, { what: "finished", at: later(bake.end, -2) }),
      lost(),
      lost(),
    ];
    const next = putInForce(told(day, marks, bake.end));
    expect(reportsOf(next)).toHaveLength(3);
    const without = (...aside: number[]): Happening[] => {
      const left = marks.map((one, i) =>
        aside.includes(i) ? { ...one, setAside: { at: LONG_AGO, by: "office" } } : one,
      );
      return reportsOf(withMarks(next, { marks: left, version: 2, now: LONG_AGO }));
    };
    const kinds = (...aside: number[]): string[] =>
      without(...aside)
        .map(({ kind }) => kind)
        .sort();
    expect(kinds()).toEqual(["finished", "pieces-lost", "pieces-lost"]);
    // Past its end, and not finished.
    expect(kinds(1)).toEqual(["pieces-lost", "pieces-lost", "running", "started"]);
    expect(kinds(0, 1)).toEqual(["pieces-lost", "pieces-lost"]);
    expect(kinds(2)).toEqual(["finished", "pieces-lost"]);
    expect(kinds(0, 1, 2, 3)).toEqual([]);
    // A planner's own word stays.
    const own: Happening = { kind: "finished", task: bake.id, at: bake.end };
    const written = { ...day, happenings: { ...day.happenings, at: bake.end, happenings: [own] } };
    const aside = marks.map((one) => ({ ...one, setAside: { at: LONG_AGO, by: "office" } }));
    expect(told(written, aside)).toBe(written);
  });

  it("of a station whose clock is far ahead counts when its marks came in, where the server's clock is in the day", () => {
    const shape = first(day, "shape");
    const receivedAt = later(shape.start, 1);
    const ahead = mark(day, shape, { what: "started", at: later(shape.start, 480) }, { receivedAt });
    const so = told(day, [ahead], later(shape.start, 2));
    expect(minuteOf(so.happenings.at!)).toBe(minuteOf(shape.start) + 2);
    expect(minuteOf((so.happenings.happenings[0] as { at: string }).at)).toBe(minuteOf(receivedAt));
    expect(checkDay(so)).toEqual([]);
    const close = mark(day, shape, { what: "started", at: later(shape.start, 5) }, { receivedAt });
    expect(minuteOf((told(day, [close]).happenings.happenings[0] as { at: string }).at)).toBe(minuteOf(close.at));
    // The kitchen's screens and what takes longer go by the same time.
    const window = resolveWindow(day.settings, day.network) as { fromMinute: number; toMinute: number };
    const finished = mark(day, shape, { what: "finished", at: later(shape.start, 3) });
    const heard = [ahead, finished].map((one) => asBelieved(one, window));
    expect(heard[0]).toMatchObject({ at: receivedAt, saidAt: ahead.at });
    expect(heard[1]).toBe(finished);
    expect(progressOf(shape, [ahead]).start).toBe(minuteOf(shape.start) + 480);
    expect(progressOf(shape, heard).start).toBe(minuteOf(receivedAt));
    expect(statesOf(heard.toReversed()).get(shape.id)).toBe("finished");
    // A day that is tried out months before it comes.
    const tried = told(day, [{ ...ahead, receivedAt: LONG_AGO }]);
    expect(minuteOf((tried.happenings.happenings[0] as { at: string }).at)).toBe(minuteOf(ahead.at));
  });

  it("work that was said to take longer, and is past that, still runs for a while, then ended then", () => {
    const bake = first(day, "bake");
    const marks = [
      mark(day, bake, { what: "started", at: bake.start }),
      mark(day, bake, { what: "trouble", at: later(bake.end, -2), trouble: { is: "longer", minutes: 6 } }),
    ];
    const endAt = (minutes: number): number => {
      const so = told(day, marks, later(bake.end, minutes));
      return minuteOf(taskIn(putInForce(so), bake.id).end) - minuteOf(bake.end);
    };
    expect([endAt(3), endAt(6), endAt(12), endAt(90)]).toEqual([6, 7, 13, 6]);
    // Put in force, and asked again with nothing marked since.
    const next = putInForce(told(day, marks, later(bake.end, 3)));
    const so = withMarks(next, { marks, version: 2, now: later(bake.end, 120) });
    expect(putInForce(so).inForce).toBe(next.inForce);
    expect(drift(so).holds).toBe(true);
  });

  it("understands the words of the board's kitchen screen as it was told in data", () => {
    const troubles: Trouble[] = [
      { is: "longer", minutes: 10 },
      { is: "late", minutes: 15 },
      { is: "lost", pieces: 3 },
      { is: "spoiled" },
      { is: "short", kg: 1.5 },
      { is: "out" },
      { is: "out", minutes: 30 },
    ];
    const tasks = tasksOf(day.inForce!);
    let compared = 0;
    for (const task of day.inForce!.tasks) {
      for (const trouble of troubles) {
        const said = { task: task.id, what: "trouble" as const, at: later(task.start, 4), note: troubleNote(trouble) };
        const server = happeningOf(said, "bench", tasks.get(task.id)!, zoneOf(day, task));
        const { note: _, ...quiet } = said;
        const meant = trouble.is === "short" ? { is: trouble.is, massG: 1000 * trouble.kg } : trouble;
        const data = happeningOf({ ...quiet, trouble: meant }, "bench", tasks.get(task.id)!, zoneOf(day, task));
        if (server) {
          const { note, ...rest } = server;
          expect(note).toBe(`${MARKED}bench: ${said.note}`);
          expect({ ...rest, note: `${MARKED}bench` }).toEqual(data);
          compared++;
        } else expect(data).toBeUndefined();
      }
    }
    expect(compared).toBeGreaterThan(20);
    const note = { task: day.inForce!.tasks[0]!.id, what: "trouble" as const, at: LONG_AGO, note: "it smells" };
    expect(happeningOf(note, "bench", day.inForce!.tasks[0]!, "UTC")).toBeUndefined();
  });
});
