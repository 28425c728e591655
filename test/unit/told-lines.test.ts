import { beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Happening, OrderLine, Timetable } from "../../schemas/index.js";
import { orderRows } from "../../services/board/logic/orders.js";
import { readPlan } from "../../services/board/logic/plan.js";
import { wishings } from "../../services/board/logic/wishes.js";
import { readDayFolder } from "../../services/day-folder.js";
import { headroomText } from "../../services/text/index.js";
import { trialOf } from "../../solver/headroom/trial.js";
import { balance, draw, headroom, linesAsTold, sideOf } from "../../solver/index.js";
import { withToldLines } from "../../solver/problem/told.js";
import { applyScenario, changed } from "../../solver/scenario/index.js";
import { sheetsOf } from "../../solver/sheets/index.js";
import { loadLp } from "../support/lp.js";
import { withFewLines } from "../support/small-day.js";

/** Orders that were added, changed and cancelled after they were written down: everything goes by the lines as told. D22. */

const lp = await loadLp();
const BUDGET = { iterations: 60, seed: 1, now: () => 0, lp };
let written: DayDocuments;
let day: DayDocuments;
let plan: Timetable;
let gone: OrderLine;
let other: OrderLine;
let added: OrderLine;

function told(happenings: readonly Happening[]): DayDocuments {
  return { ...written, happenings: { format: "happenings/1", happenings: [...happenings] } };
}

beforeAll(async () => {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  written = withFewLines(read.day);
  [gone, other] = written.orders.lines as [OrderLine, OrderLine];
  added = { ...other, id: "line-new", pieces: 24, due: "2026-11-27T09:00", customer: "Fair" };
  day = told([
    { kind: "order-cancelled", line: gone.id },
    { kind: "order-changed", line: other.id, pieces: other.pieces + 6 },
    { kind: "order-added", line: added },
  ]);
  plan = draw(day, BUDGET).timetable;
}, 60_000);

const pieces = (lines: readonly OrderLine[]): number => lines.reduce((sum, line) => sum + line.pieces, 0);

describe("orders as told", { timeout: 60_000 }, () => {
  it("can be written back: the same lines, and nothing left to be told of them", () => {
    const out: Happening = { kind: "out-of-service", unit: "weir-yard/rack-1", from: "2026-11-27T05:00" };
    const both = told([out, ...day.happenings.happenings]);
    const back = withToldLines(both);
    expect(back.orders.lines).toEqual(linesAsTold(day));
    expect(back.happenings.happenings).toEqual([out]);
    expect(withToldLines(back)).toBe(back);
    expect(draw(withToldLines(day), BUDGET).timetable).toEqual(plan);
  });

  it("decide whether everything is on time", () => {
    const cancelled = told([{ kind: "order-cancelled", line: gone.id }]);
    const without = trialOf(cancelled, draw(cancelled, BUDGET).timetable, 1);
    expect(without).toMatchObject({ fits: true, lines: written.orders.lines.length - 1 });
    expect(without.pieces).toBe(pieces(written.orders.lines) - gone.pieces);
    const tooSoon = told([{ kind: "order-added", line: { ...added, due: "2026-11-26T12:10" } }]);
    const trial = trialOf(tooSoon, draw(tooSoon, BUDGET).timetable, 1);
    expect(trial).toMatchObject({ fits: false, lines: written.orders.lines.length + 1 });
    expect(trial.piecesOnTime).toBe(trial.pieces - added.pieces);
  });

  it("are what headroom multiplies", () => {
    const tooSoon = told([{ kind: "order-added", line: { ...added, due: "2026-11-26T12:10" } }]);
    const answer = headroom(tooSoon, { seconds: 1, to: 1 }, { lp, now: () => performance.now() });
    expect(answer.verdict).toBe("does-not-fit");
    expect(answer.fitsAt).toBeUndefined();
    expect(headroomText(tooSoon, answer)).toContain(`of ${pieces(linesAsTold(tooSoon))} pieces`);
  });

  it("are on the sheets", () => {
    const lines = sheetsOf(day, plan)
      .filter(({ kind }) => kind === "orders")
      .flatMap(({ tables }) => tables.flatMap(({ rows }) => rows));
    expect(lines.map(({ line }) => line).sort()).toEqual(
      linesAsTold(day)
        .map(({ id }) => id)
        .sort(),
    );
    expect(lines.find(({ line }) => line === added.id)).toMatchObject({ customer: "Fair", pieces: 24 });
    expect(JSON.stringify(sheetsOf(day, plan).filter(({ kind }) => kind === "rack"))).toContain("Fair");
  });

  it("are what scenarios change", () => {
    const id = other.id;
    const doubled = applyScenario(day, {
      format: "scenario/1",
      name: "more",
      changes: [{ kind: "multiply-orders", of: { lines: [added.id, id] }, times: 2 }],
    });
    if ("issues" in doubled) throw new Error(JSON.stringify(doubled.issues));
    const now = new Map(linesAsTold(doubled.day).map((line) => [line.id, line.pieces]));
    expect(now.get(added.id)).toBe(48);
    expect(now.get(id)).toBe(2 * (other.pieces + 6));
    expect(now.has(gone.id)).toBe(false);
    const dropped = changed(day, [{ kind: "drop-lines", of: { lines: [id] } }]);
    expect(linesAsTold(dropped).map((line) => line.id)).not.toContain(id);
    expect(() => changed(day, [{ kind: "add-line", line: added }])).toThrow("already");
    expect(linesAsTold(changed(day, [{ kind: "add-line", line: gone }])).length).toBe(linesAsTold(day).length + 1);
    expect(() => changed(day, [{ kind: "drop-lines", of: { lines: [gone.id] } }])).toThrow("is not there");
  });

  it("are compared and balanced by", () => {
    const side = sideOf({ name: "as it is", changes: [] }, day, plan, plan);
    expect(side.pieces).toBe(pieces(linesAsTold(day)));
    const wish = { kind: "bake-at" as const, of: { lines: [added.id] }, site: "weir-yard" };
    const { timetable, sites } = balance(day, { wishes: [wish], iterations: 20, seed: 1 }, { lp, now: () => 0 });
    const serving = timetable.loads.filter(({ orders }) => orders.some(({ line }) => line === added.id));
    expect(new Set(serving.map(({ bakedAt }) => bakedAt))).toEqual(new Set(["weir-yard"]));
    expect(sites.reduce((sum, { wantedPieces }) => sum + wantedPieces, 0)).toBe(side.pieces);
  });

  it("are what the board shows, and what was cancelled keeps its name", () => {
    const shown = readPlan(day, plan);
    expect(shown.lines.get(added.id)?.customer).toBe("Fair");
    expect(shown.lines.get(gone.id)?.product).toBe(gone.product);
    const rows = orderRows(withToldLines(day).orders.lines, day, shown);
    expect(rows.filter(({ fate }) => fate === "not-drawn")).toEqual([]);
    expect(JSON.stringify(wishings(day))).toContain("Fair");
  });
});
