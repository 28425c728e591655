import { beforeAll, describe, expect, it } from "vitest";
import type { Change, Task } from "../../../schemas/index.js";
import { changesText } from "../../../services/text/index.js";
import { whatIsCarried } from "../../../solver/carried.js";
import { type CarriedMorning, carriedMorning } from "../../support/carried.js";

let morning: CarriedMorning;
beforeAll(async () => {
  morning = await carriedMorning();
}, 300_000);

const clock = ({ start, end }: Task): { start: string; end: string } => ({
  start: start.slice(11, 16),
  end: end.slice(11, 16),
});
const deckOf = ({ unit }: Task): string => unit!.split("/")[2]!;

describe("what is carried off a place that fails", { timeout: 60_000 }, () => {
  it("is one change: from where, where to, and from when to when", () => {
    const all = new Map<string, Change>();
    for (const { changes } of morning.changes.stations) for (const change of changes) all.set(change.task, change);
    for (const [first, rest] of [morning.bake, morning.stay]) {
      expect(all.has(first.id), first.id).toBe(false);
      const change = all.get(rest.id)!;
      expect(change).toMatchObject({
        what: "carried",
        load: rest.load,
        from: { end: first.end },
        to: { start: rest.start, end: rest.end },
        inMinutes: 0,
      });
      expect(change.from!.places).not.toBe(change.to!.places);
    }
    expect(morning.changes.counts.added).toBe(0);
  });

  it("names only what changes place: other tubs of the load stay where they are", () => {
    const at = (item: string, position: number) => ({ item, unit: "weir-yard/walk-in/shelf-2", position });
    const [first, rest] = morning.stay;
    const moved = whatIsCarried(
      { ...first, places: [at("tub-1", 1), at("tub-2", 2)] },
      { ...rest, places: [at("tub-1", 1), at("tub-2", 3)] },
    );
    expect(moved.first.places).toEqual([at("tub-2", 2)]);
    expect(moved.rest.places).toEqual([at("tub-2", 3)]);
  });

  it("is told in a sentence, with what is left to bake and the caution for what is hot", () => {
    const text = changesText(morning.day, morning.before, morning.after, morning.changes);
    const [cut, rest] = morning.bake;
    const left = (Date.parse(rest.end) - Date.parse(rest.start)) / 60_000;
    const line = text.split("\n").filter((one) => one.includes(`(${cut.load})`) && one.includes("carry half-baked"));
    for (const one of line) {
      expect(one).toContain(deckOf(cut));
      expect(one).toContain(deckOf(rest));
      expect(one).toContain(
        `out ${clock(cut).end}, in ${clock(rest).start}, ${left} min left, done ${clock(rest).end}`,
      );
    }
    // Each oven's list has it.
    expect(line.length).toBe(cut.unit!.split("/")[1] === rest.unit!.split("/")[1] ? 1 : 2);
    expect(text).toContain("What is carried half-baked is hot. Decks and pans burn: dry mitts");
    const [, stays] = morning.stay;
    expect(text).toMatch(new RegExp(`\\(${stays.load}\\) +carry from .* to .* at ${clock(stays).start}, there until`));
    expect(text).not.toMatch(new RegExp(`(${cut.load}|${stays.load})\\) +new`));
  });
});
