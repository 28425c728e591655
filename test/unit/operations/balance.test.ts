import { describe, expect, it } from "vitest";
import type { DayDocuments, Wish } from "../../../schemas/index.js";
import { readDayFolder } from "../../../services/day-folder.js";
import { balanceText } from "../../../services/text/balance.js";
import { balance } from "../../../solver/index.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();
const read = await readDayFolder("services/demo/ordinary-day");
if ("issues" in read) throw new Error("the demo day has issues");
const day: DayDocuments = read.day;

const share = (site: string, leastPercent: number): Wish => ({ kind: "share", site, leastPercent, mostPercent: 100 });
const balanced = (wishes: readonly Wish[]) => balance(day, { wishes, iterations: 3, seed: 1 }, { lp, now: () => 0 });

describe("a balance with wishes", { timeout: 120_000 }, () => {
  it("says which wish cannot be kept and how much can at most, and has no price for any", () => {
    const found = balanced([share("quay-shop", 30), { kind: "home", perPiece: 0.05 }]);
    expect(found.programCost).toBeUndefined();
    expect(found.wishes.map(({ cost }) => cost)).toEqual([undefined, undefined]);
    expect(found.wishes[0]).toMatchObject({ cannotBeKept: "alone", atMostPercent: 10 });
    expect(found.wishes[1]!.cannotBeKept).toBeUndefined();
    const text = balanceText(day, found);
    expect(text).toContain("Your wishes cannot all be kept, so none of them has a price");
    expect(text).toMatch(/cannot be kept: at most 10 % can be baked there/);
  });

  it("has a price that the timetable costs more at least", () => {
    const found = balanced([share("bridge-shop", 20)]);
    expect(found.wishes[0]!.cost).toBeGreaterThanOrEqual(-0.01);
    expect(balanceText(day, found)).toMatch(/what each costs at least[^\n]*\n {2}at least \d+\.\d\d/);
  });

  it("names the lines that are short, wishes for lines that are not kept, and that the wishes leave more short", () => {
    const wish: Wish = { kind: "bake-at", of: { products: ["baton"] }, site: "quay-shop" };
    const found = balanced([wish]);
    const { timetable } = found;
    const lines = new Set(day.orders.lines.filter(({ product }) => product === "baton").map(({ id }) => id));
    const short = timetable.orders.filter(({ shortPieces }) => shortPieces > 0);
    expect(short.filter(({ line }) => lines.has(line)).length).toBeGreaterThan(0);
    expect(found.wishes[0]!.isKept).toBe(false);
    const pieces = short.reduce((sum, { shortPieces }) => sum + shortPieces, 0);
    expect(found.shortWithoutWishes).toBeLessThan(pieces);
    const text = balanceText(day, found);
    expect(text.split("\n")[2]).toMatch(new RegExp(`With your wishes ${pieces} pieces are not made; without them`));
    expect(text).toContain("not kept, for want of room or time to search");
    for (const { line, why } of short) {
      expect(text).toContain(`  ${line}: `);
      if (why) expect(text).toContain(why.text);
    }
  });
});
