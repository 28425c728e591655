import { describe, expect, it } from "vitest";
import { readDayFolder } from "../../../services/day-folder.js";
import { wholeLots } from "../../../solver/assign/whole-lots.js";
import { multiplied } from "../../../solver/headroom/index.js";
import { loadHighs } from "../../../solver/index.js";
import { multipleAtOnce } from "../../../solver/network/at-once.js";
import { fewestContainers } from "../../../solver/network/fewest.js";
import { Disprover } from "../../../solver/network/multiple.js";
import { coldEach, containerOf, NetworkProgram, placesKey } from "../../../solver/network/program.js";
import { type DayIndex, indexDay } from "../../../solver/problem/day-index.js";
import { prepare } from "../../../solver/problem/prepare.js";
import { randomDay } from "../../days/random-day.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();
/** The small engine gives no prices, and without them nothing is proved. */
const large = await loadHighs();

async function demo(times: number): Promise<DayIndex> {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  return indexDay(multiplied(read.day, undefined, times));
}

describe("flows in the fewest containers", () => {
  it("are whole way by way, and lots of them serve every line in full", { timeout: 60_000 }, async () => {
    const index = await demo(1.5);
    const balance = fewestContainers(index, {
      lp,
      wants: index.wants,
      share: 0.9,
      shelfShare: 0.94,
      wholeSeconds: 40,
    });
    expect(balance.isSolved).toBe(true);
    expect(Math.max(...balance.short)).toBeLessThan(0.01);
    const { program, point } = balance;
    for (const group of program.groups) {
      const byWay = new Map<string, number>();
      program.columns.forEach((column, c) => {
        const per = containerOf(column);
        if (!per || !group.includes(column.family)) return;
        const amount = point.pieces[c]! / coldEach(column) + point.spare[per][c]!;
        byWay.set(placesKey(column), (byWay.get(placesKey(column)) ?? 0) + amount);
      });
      for (const amount of byWay.values()) expect(Math.abs(amount - Math.round(amount))).toBeLessThan(1e-3);
    }
    const made = new Map<string, number>();
    for (const lot of wholeLots(prepare(index), balance))
      for (const { want, pieces } of lot.portions) {
        expect(pieces).toBeGreaterThan(0);
        made.set(want.line.id, (made.get(want.line.id) ?? 0) + pieces);
      }
    for (const want of index.wants) expect(made.get(want.line.id), want.line.id).toBe(want.pieces);
  });

  it("count lines apart that no load can serve both", { timeout: 60_000 }, async () => {
    const { families, groups } = new NetworkProgram(await demo(1));
    expect(groups.flat().sort((a, b) => a - b)).toEqual(families.map((_, f) => f));
    const groupOf = (line: string): number =>
      groups.findIndex((group) => group.some((f) => families[f]!.wants.some((want) => want.line.id === line)));
    // Crescents for the shop's opening are due before those for noon, fresh for four hours, may be finished.
    expect(groupOf("line-038")).not.toBe(groupOf("line-054"));
    expect(groupOf("line-001")).toBe(groupOf("line-013"));
  });
});

describe("what sums alone rule out", () => {
  it("the program rules out too", { timeout: 60_000 }, () => {
    let told = 0;
    for (let seed = 1; seed <= 20; seed++) {
      const day = randomDay(seed, "small");
      if (day.orders.lines.length === 0) continue;
      const disprover = new Disprover(indexDay(day), { lp: (model, limits) => large.solve(model, limits), most: 10 });
      const first = multipleAtOnce(disprover.program, 10);
      if (first >= 10) continue;
      told++;
      expect(disprover.greatest(), `seed ${seed}`).toBeLessThanOrEqual(first * 1.05 + 1e-6);
    }
    expect(told).toBeGreaterThan(5);
  });
});
