import { beforeAll, describe, expect, it } from "vitest";
import type { Task } from "../../../schemas/index.js";
import { timetableText } from "../../../services/text/index.js";
import { type Row, type Sheet, sheetsOf } from "../../../solver/sheets/index.js";
import { type CarriedMorning, carriedMorning } from "../../support/carried.js";

let morning: CarriedMorning;
let sheets: Sheet[];
beforeAll(async () => {
  morning = await carriedMorning();
  sheets = sheetsOf(morning.day, morning.after);
}, 300_000);

const clock = (instant: string): string => instant.slice(11, 16);

function deckRows({ unit, load }: Task): readonly Row[] {
  const [site, oven, deck] = unit!.split("/");
  const sheet = sheets.find(
    ({ kind, id, site: own }) => kind === "oven" && own === site && id.endsWith(`${oven}-${deck}`),
  )!;
  return sheet.tables[0]!.rows.filter((row) => row.load === load);
}

describe("paper, when a deck or shelf fails", { timeout: 60_000 }, () => {
  it("half-baked pans are never sent to the rack: out, not done, and on which deck they go on", () => {
    const [cut, rest] = morning.bake;
    const rows = deckRows(cut);
    expect(rows).toMatchObject([
      { does: "load", at: cut.start, to: "not done" },
      { does: "OUT", at: cut.end },
    ]);
    const deck = rest.unit!.split("/")[2]!;
    expect(rows[1]!.what).toMatch(new RegExp(`NOT DONE, carry to .*${deck}$`));
    expect(rows[1]!.to).toContain(`in ${clock(rest.start)}`);
    expect(JSON.stringify(rows)).not.toContain("rack");
    const left = (Date.parse(rest.end) - Date.parse(rest.start)) / 60_000;
    const [carried, ...more] = deckRows(rest);
    expect(more).toEqual([]);
    expect(carried).toMatchObject({ does: "carry in", at: rest.start, out: rest.end });
    expect(carried!.what).toMatch(new RegExp(`: half-baked from .*${cut.unit!.split("/")[2]}, ${left} min more$`));
    expect(carried!.to).not.toBe("");
  });

  it("whoever carries it has it on their list, and the station's printed day says it", () => {
    const [cut, rest] = morning.bake;
    const work = sheets.filter(({ kind }) => kind === "crew").flatMap(({ tables }) => tables[0]!.rows);
    const own = work.filter((row) => row.id === cut.load && /bake|carry/.test(String(row.what))).map((row) => row.what);
    expect(own).toHaveLength(2);
    expect(own[0]).toMatch(new RegExp(`NOT DONE at ${clock(cut.end)}: carry to .*, in ${clock(rest.start)}$`));
    expect(own[1]).toMatch(/^carry half-baked .* from .*, \d+ min more$/);
    const text = timetableText(morning.day, morning.after);
    expect(text).toMatch(new RegExp(`${cut.load}\\), NOT DONE at ${clock(cut.end)}: carry to`));
  });

  it("a tub that is carried is told where to and where from on the shelf maps, and has one label", () => {
    const [first, rest] = morning.stay;
    const { item } = first.places![0]!;
    const cells = sheets
      .filter(({ kind }) => kind === "shelf-map")
      .flatMap(({ tables }) => tables[0]!.rows.flatMap((row) => Object.values(row)))
      .filter((cell): cell is string[] => Array.isArray(cell) && cell.includes(item));
    const lines = cells.flat();
    expect(lines.some((line) => line.startsWith(`${clock(rest.start)} CARRY to `))).toBe(true);
    expect(lines.some((line) => line.startsWith("CARRIED from "))).toBe(true);
    const labels = sheets.filter(({ kind }) => kind === "labels").flatMap(({ tables }) => tables[0]!.rows);
    expect(labels.filter((label) => label.item === item)).toMatchObject([{ in: first.start, planned: rest.end }]);
  });
});
