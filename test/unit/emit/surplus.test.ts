import { describe, expect, it } from "vitest";
import type { MadeBatch, MadeLoad } from "../../../solver/emit/context.js";
import { withSurplusDealt } from "../../../solver/emit/surplus.js";
import type { Want } from "../../../solver/problem/day-index.js";
import type { Problem } from "../../../solver/problem/index.js";

const want = (id: string, pieces: number, due: number, more: object = {}): Want =>
  ({ line: { id, product: "loaf", site: "town", pieces, ...more }, due, freshWithinMinutes: 300 }) as unknown as Want;
const load = (id: string, pieces: number, delivered: number, has: [Want, number][]): MadeLoad =>
  ({
    spec: { id, product: "loaf", deliverTo: "town", pieces, portions: has.map(([of, n]) => ({ want: of, pieces: n })) },
    meaning: { bakeSite: "yard" },
    delivered,
    finish: delivered,
  }) as unknown as MadeLoad;

const [early, late, own] = [want("early", 6, 600), want("late", 6, 700), want("own", 4, 650)];

function dealt(loads: readonly MadeLoad[], wants: readonly Want[], lostPieces = 0): Record<string, string[]> {
  const begun = { loads: new Map([["x", { load: { lostPieces } }]]) };
  const problem = { index: { wants }, begun } as unknown as Problem;
  const batches = [{ number: 0, loads }] as unknown as MadeBatch[];
  const after = withSurplusDealt(problem, batches);
  const said = after
    .flatMap((batch) => batch.loads)
    .map(({ spec }) => [spec.id, spec.portions.map((one) => `${one.want.line.id} ${one.pieces}`)]);
  return Object.fromEntries(said);
}

describe("surplus of a repair", () => {
  it("goes to lines that lack pieces, those due first, as far as it is ready and fresh", () => {
    const x = load("x", 12, 580, [[own, 4]]);
    expect(dealt([x], [late, own, early])).toEqual({ x: ["own 4", "early 6", "late 2"] });
    expect(dealt([x], [late, own, early], 3)).toEqual({ x: ["own 4", "early 5"] });
    expect(dealt([load("x", 12, 620, [[own, 4]])], [late, own, early])).toEqual({ x: ["own 4", "late 6"] });
    expect(dealt([load("x", 12, 290, [[own, 4]])], [own, early])).toEqual({ x: ["own 4"] });
    expect(
      dealt([x], [own, want("there", 6, 600, { madeAt: "yard" }), want("not", 6, 600, { madeAt: "town" })]),
    ).toEqual({
      x: ["own 4", "there 6"],
    });
  });

  it("leaves batches as they are where nobody lacks any, or nothing is over", () => {
    const batches = [{ number: 0, loads: [load("x", 4, 580, [[own, 4]])] }] as unknown as MadeBatch[];
    const problem = { index: { wants: [own, early] }, begun: { loads: new Map() } } as unknown as Problem;
    expect(withSurplusDealt(problem, batches)).toBe(batches);
  });
});
