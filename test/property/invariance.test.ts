import { describe, expect, it } from "vitest";
import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { checkDay } from "../../solver/check/index.js";
import { draw, pose } from "../../solver/draw.js";
import { createRng } from "../../solver/rng.js";
import { construct } from "../../solver/search/construct.js";
import { Draft } from "../../solver/search/draft.js";
import { improve } from "../../solver/search/improve.js";
import { MAX_OPERATIONS, type SearchModel } from "../../solver/search/model.js";
import { coreModel } from "../bench/core/adapter.js";
import { heldOut } from "../bench/core/generate.js";
import { realisticDay } from "../bench/days/realistic-day.js";
import { randomDay } from "../days/random-day.js";
import { loadLp } from "../support/lp.js";
import { shifted } from "../support/model.js";

const lp = await loadLp();
const SCALE = process.env.DECKSHELF_LONG === "1" ? 20 : 1;

/** A search's best plan, as cost and the start of everything that is made. */
function searched(model: SearchModel, seed: number, tries: number) {
  const draft = new Draft(model, createRng(seed));
  construct(draft);
  const { best } = improve(draft, { progress: (i) => i / tries });
  const starts = model.loads.map((load, l) => {
    const mode = load.modes[best.mode[l]!];
    return mode ? mode.operations.map((_, k) => best.start[l * MAX_OPERATIONS + k]!) : [];
  });
  return { cost: best.cost, modes: [...best.mode], mixes: [...best.mixStart], starts };
}

function expectShifted(model: SearchModel, seed: number, tries: number, minutes: number): void {
  const plan = searched(model, seed, tries);
  const later = searched(shifted(model, minutes), seed, tries);
  expect(later.cost, `seed ${seed}`).toBe(plan.cost);
  expect(later.modes, `seed ${seed}`).toEqual(plan.modes);
  expect(later.mixes, `seed ${seed}`).toEqual(plan.mixes.map((start) => (start < 0 ? start : start + minutes)));
  expect(later.starts, `seed ${seed}`).toEqual(plan.starts.map((list) => list.map((start) => start + minutes)));
}

function drawn(day: DayDocuments, seed: number): Timetable {
  return draw(day, { iterations: 60, seed, now: () => 0, lp }).timetable;
}

/** Every id of the documents with something put before it, so that their order stays. */
function renamed(day: DayDocuments): DayDocuments {
  const ids = new Set<string>();
  const collect = (value: unknown): void => {
    if (Array.isArray(value)) value.forEach(collect);
    else if (value !== null && typeof value === "object") {
      for (const [key, inner] of Object.entries(value)) {
        if (key === "id") ids.add(inner as string);
        else collect(inner);
      }
    }
  };
  collect(day);
  for (const site of day.network.sites) {
    for (const skill of site.crew.flatMap((group) => group.skills)) ids.add(skill);
  }
  const rename = (text: string): string =>
    text
      .split("/")
      .map((part) => (ids.has(part) ? `q-${part}` : part))
      .join("/");
  const keep = new Set(["name", "customer", "label", "note", "format", "does", "kind", "form"]);
  const walk = (value: unknown, key = ""): unknown => {
    if (Array.isArray(value)) return value.map((inner) => walk(inner, key));
    if (value !== null && typeof value === "object")
      return Object.fromEntries(Object.entries(value).map(([name, inner]) => [name, walk(inner, name)]));
    return typeof value === "string" && !keep.has(key) && key !== "handOvers" ? rename(value) : value;
  };
  return walk(day) as DayDocuments;
}

/** Starts and ends in order, and what they cost: what is left of a timetable when its names are taken away. */
function nameless({ tasks, cost, orders }: Timetable) {
  return {
    cost,
    tasks: tasks.map(({ does, start, end, tempC }) => `${does} ${start} ${end} ${tempC ?? ""}`).sort(),
    orders: orders.map(({ state, pieces, ready }) => `${state} ${pieces} ${ready ?? ""}`),
  };
}

describe("what must change nothing", () => {
  it("everything some minutes later gives the same plan so much later: core instances", { timeout: 60_000 }, () => {
    for (let seed = 1; seed <= 8 * SCALE; seed++) expectShifted(coreModel(heldOut("S", seed)), seed, 300, 7 * seed);
  });

  it("the same for random days of several sites", { timeout: 60_000 * SCALE }, () => {
    for (let seed = 1; seed <= 60 * SCALE; seed++) {
      const { model } = pose(randomDay(seed, "small"), lp);
      if (model.loads.length > 0) expectShifted(model, seed, 60, 1 + (seed % 90));
    }
  });

  it("a week later the timetable is the same a week later", { timeout: 60_000 }, () => {
    const day = realisticDay(2, 50);
    // The two dates of the day, a week on; no clocks change meanwhile.
    const onAWeek = (text: string): string =>
      text
        .replaceAll("2026-11-26", "2026-12-03")
        .replaceAll("2026-11-27", "2026-12-04")
        .replaceAll(/-20261126/g, "-20261203")
        .replaceAll(/-20261127/g, "-20261204");
    const weekLater = JSON.parse(onAWeek(JSON.stringify(day))) as DayDocuments;
    expect(drawn(weekLater, 1)).toEqual(JSON.parse(onAWeek(JSON.stringify(drawn(day, 1)))));
  });

  it("other names, in the same order, give the same timetable but for the names", { timeout: 60_000 * SCALE }, () => {
    const days = [realisticDay(3, 50), ...Array.from({ length: 25 * SCALE }, (_, s) => randomDay(s + 1, "small"))];
    days.forEach((day, d) => {
      expect(checkDay(renamed(day)), `day ${d}`).toEqual([]);
      expect(renamed(day).network.sites[0]!.id).toBe(`q-${day.network.sites[0]!.id}`);
      expect(nameless(drawn(renamed(day), d)), `day ${d}`).toEqual(nameless(drawn(day, d)));
    });
  });
});
