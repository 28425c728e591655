import { beforeAll, describe, expect, it } from "vitest";
import type { CrewGroup, DayDocuments, Happening, Site, Task, Timetable } from "../../../schemas/index.js";
import { draw, repair } from "../../../solver/index.js";
import { Book } from "../../../solver/sheets/book.js";
import { type Stint, stintsOf } from "../../../solver/sheets/people.js";
import { drawn } from "../../support/drawn.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();
const BUDGET = { iterations: 40, seed: 1, now: () => 0, lp };
let day: DayDocuments;
let inForce: Timetable;
let site: Site;
let group: CrewGroup;

beforeAll(async () => {
  ({ day, timetable: inForce } = await drawn("ordinary-day"));
  site = day.network.sites[0]!;
  // Five from half past twelve to half past eight, who have their breaks two and three at a time.
  group = site.crew.find(({ id }) => id === "evening")!;
}, 60_000);

const minute = (when: string): number => Date.parse(`${when}:00Z`) / 60_000;
const absent = (heads: number, from: string, to: string): Happening => ({
  kind: "absent",
  site: site.id,
  crew: group.id,
  heads,
  from,
  to,
});

function stints(happenings: readonly Happening[], timetable: Timetable): Stint[] {
  const told = { ...day, happenings: { format: "happenings/1" as const, happenings: [...happenings] } };
  return stintsOf(new Book(told, timetable), site, group);
}

function numbersOf(list: readonly Stint[]): number[] {
  return [...new Set(list.flatMap(({ people }) => people))].sort((a, b) => a - b);
}

/** A task of the group that takes so many heads from one wall-clock time to another. */
function work(id: string, from: string, to: string, heads: number): Task {
  return {
    id,
    does: "shape",
    site: site.id,
    start: `${from}:00Z`,
    end: `${to}:00Z`,
    crew: { group: group.id, heads },
  } as Task;
}

function workOf(...tasks: Task[]): Timetable {
  return { ...inForce, tasks };
}

describe("who of a group does what", { timeout: 60_000 }, () => {
  it("is only asked of those who are there, all day", () => {
    const happenings = [absent(1, day.settings.window.from, day.settings.window.to)];
    const told = { ...day, happenings: { format: "happenings/1" as const, happenings } };
    const { timetable, breaches } = draw(told, BUDGET);
    expect(breaches).toEqual([]);
    expect(numbersOf(stints([], timetable))).toEqual([1, 2, 3, 4, 5]);
    expect(numbersOf(stints(happenings, timetable))).toEqual([1, 2, 3, 4]);
  });

  it("or from when somebody goes", () => {
    const from = "2026-11-26T16:00";
    const happenings = [absent(2, from, "2026-11-26T20:30")];
    const told = { ...day, inForce, happenings: { format: "happenings/1" as const, at: from, happenings } };
    const { timetable, breaches } = repair(told, BUDGET);
    expect(breaches).toEqual([]);
    const list = stints(happenings, timetable);
    expect(numbersOf(list)).toEqual([1, 2, 3, 4, 5]);
    expect(numbersOf(list.filter(({ to }) => to > minute(from)))).toEqual([1, 2, 3]);
  });

  it("and who is there has the breaks", () => {
    const tasks = [
      work("before", "2026-11-26T15:00", "2026-11-26T15:10", 1),
      work("first-break", "2026-11-26T16:05", "2026-11-26T16:10", 1),
      work("second-break", "2026-11-26T16:35", "2026-11-26T16:40", 1),
      work("after", "2026-11-26T18:00", "2026-11-26T18:10", 2),
    ];
    const away = [absent(3, "2026-11-26T12:30", "2026-11-26T20:30")];
    // Two are left: both are on a break first, and then on the other.
    expect(stints(away, workOf(...tasks)).map(({ people }) => people)).toEqual([[1], [], [], [1, 2]]);
    expect(stints([], workOf(...tasks)).map(({ people }) => people)).toEqual([[1], [3], [2], [4, 5]]);
  });

  it("is anybody's where somebody who worked goes and nobody is free to help out", () => {
    const tasks = [work("all", "2026-11-26T14:00", "2026-11-26T14:30", 5)];
    expect(stints([absent(1, "2026-11-26T14:10", "2026-11-26T15:00")], workOf(...tasks))[0]!.people).toEqual([]);
    const four = [work("four", "2026-11-26T14:00", "2026-11-26T14:30", 4)];
    expect(stints([absent(1, "2026-11-26T14:10", "2026-11-26T15:00")], workOf(...four))[0]!.people).toEqual([
      1, 2, 3, 4,
    ]);
  });

  it("counts everybody who is away", () => {
    const away = [absent(2, "2026-11-26T13:00", "2026-11-26T15:00"), absent(2, "2026-11-26T14:00", "2026-11-26T15:30")];
    const at = (from: string, to: string): number[] =>
      stints(away, workOf(work("x", from, to, 1)))[0]!.people as number[];
    expect(at("2026-11-26T14:05", "2026-11-26T14:10")).toEqual([1]);
    const crowd = (heads: number, from: string, to: string) =>
      stints(away, workOf(work("x", from, to, heads)))[0]!.people.length;
    expect(crowd(3, "2026-11-26T13:05", "2026-11-26T13:10")).toBe(3);
    expect(crowd(2, "2026-11-26T14:05", "2026-11-26T14:10")).toBe(0);
    expect(crowd(3, "2026-11-26T15:05", "2026-11-26T15:10")).toBe(3);
  });
});
