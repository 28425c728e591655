import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { lessEq, solve as yalps } from "yalps";
import { createLp } from "../../../solver/lp/choose.js";
import { loadHighs } from "../../../solver/lp/engine-highs.js";
import { createSmallEngine } from "../../../solver/lp/engine-small.js";
import { isFeasible, LpBuilder, type LpModel } from "../../../solver/lp/model.js";
import type { LpEngine } from "../../../solver/lp/port.js";
import { createRng } from "../../../solver/rng.js";

const highs = await loadHighs();
const small = createSmallEngine(() => performance.now());

interface Random {
  readonly costs: readonly number[];
  readonly integer: readonly boolean[];
  readonly rows: readonly { readonly coefficients: readonly number[]; readonly limit: number }[];
}

/** Maximise over a packing: always feasible and bounded, since every column has an upper bound of 50. */
const random: fc.Arbitrary<Random> = fc.integer({ min: 1, max: 5 }).chain((n) =>
  fc.record({
    costs: fc.array(fc.integer({ min: -9, max: 9 }), { minLength: n, maxLength: n }),
    integer: fc.array(fc.boolean(), { minLength: n, maxLength: n }),
    rows: fc.array(
      fc.record({
        coefficients: fc.array(fc.integer({ min: -4, max: 9 }), { minLength: n, maxLength: n }),
        limit: fc.integer({ min: 0, max: 60 }),
      }),
      { minLength: 1, maxLength: 5 },
    ),
  }),
);

function modelOf({ costs, integer, rows }: Random, relaxed = false): LpModel {
  const builder = new LpBuilder();
  costs.forEach((cost, c) => builder.addColumn({ cost, lower: 0, upper: 50, integer: !relaxed && integer[c]! }));
  for (const { coefficients, limit } of rows) {
    builder.addRow(
      { lower: Number.NEGATIVE_INFINITY, upper: limit },
      coefficients.map((value, c) => [c, value] as const),
    );
  }
  return builder.build();
}

/** The third opinion. */
function byYalps({ costs, integer, rows }: Random): number {
  const n = costs.length;
  const result = yalps({
    direction: "minimize",
    objective: "z",
    constraints: Object.fromEntries([
      ...rows.map(({ limit }, r) => [`r${r}`, lessEq(limit)] as const),
      ...costs.map((_, c) => [`b${c}`, lessEq(50)] as const),
    ]),
    variables: Object.fromEntries(
      Array.from({ length: n }, (_, c) => [
        `v${c}`,
        {
          z: costs[c]!,
          [`b${c}`]: 1,
          ...Object.fromEntries(rows.map(({ coefficients }, r) => [`r${r}`, coefficients[c]!])),
        },
      ]),
    ),
    integers: integer.flatMap((flag, c) => (flag ? [`v${c}`] : [])),
  });
  return result.status === "optimal" ? result.result : Number.NaN;
}

function objective(engine: LpEngine, model: LpModel): number {
  const result = engine.solve(model, { seconds: 10 });
  if (result.status !== "optimal") return Number.NaN;
  expect(isFeasible(model, result.columns)).toBe(true);
  return result.objective;
}

describe("engines", () => {
  it("agree with each other and with a third on random models", { timeout: 60_000 }, () => {
    fc.assert(
      fc.property(random, (each) => {
        const model = modelOf(each);
        const expected = objective(highs, model);
        expect(objective(small, model)).toBeCloseTo(expected, 5);
        expect(byYalps(each)).toBeCloseTo(expected, 5);
      }),
      { seed: 3, numRuns: 300 },
    );
  });

  it("tell infeasible from unbounded", () => {
    const infeasible = new LpBuilder();
    const x = infeasible.addColumn({ cost: 1, lower: 0, upper: 1 });
    infeasible.addRow({ lower: 2, upper: 3 }, [[x, 1]]);
    const unbounded = new LpBuilder();
    const y = unbounded.addColumn({ cost: -1, lower: 0, upper: Number.POSITIVE_INFINITY });
    unbounded.addRow({ lower: 1, upper: Number.POSITIVE_INFINITY }, [[y, 1]]);
    for (const engine of [small, highs]) {
      expect(engine.solve(infeasible.build(), { seconds: 5 }).status, engine.name).toBe("infeasible");
      expect(engine.solve(unbounded.build(), { seconds: 5 }).status, engine.name).toBe("unbounded");
    }
  });

  it("give an optimum that unused columns, repeated rows and scaled rows do not change", () => {
    fc.assert(
      fc.property(random, fc.integer({ min: 2, max: 7 }), (each, factor) => {
        const base = objective(highs, modelOf(each));
        const more = {
          costs: [...each.costs, 5],
          integer: [...each.integer, false],
          rows: [...each.rows, each.rows[0]!].map(({ coefficients, limit }) => ({
            coefficients: [...coefficients.map((value) => value * factor), 0],
            limit: limit * factor,
          })),
        };
        expect(objective(highs, modelOf(more))).toBeCloseTo(base, 5);
      }),
      { seed: 4, numRuns: 100 },
    );
  });

  it("HiGHS's duals prove its optimum (strong duality, complementary slackness)", () => {
    fc.assert(
      fc.property(random, (each) => {
        const model = modelOf(each, true);
        const result = highs.solve(model, { seconds: 5 });
        if (result.status !== "optimal" || !result.rowDuals || !result.reducedCosts) throw new Error("no duals");
        let dual = 0;
        result.rowDuals.forEach((price, r) => {
          if (Math.abs(price) > 1e-9) dual += price * model.rowUpper[r]!;
        });
        result.reducedCosts.forEach((reduced, c) => {
          dual += reduced * (reduced < 0 ? model.upper[c]! : model.lower[c]!);
        });
        expect(dual).toBeCloseTo(result.objective, 5);
      }),
      { seed: 5, numRuns: 150 },
    );
  });

  it("a run of the small engine that is cut short is never called optimal", { timeout: 60_000 }, () => {
    const rng = createRng(9);
    let cut = 0;
    for (let round = 0; round < 6; round++) {
      const builder = new LpBuilder();
      const columns = Array.from({ length: 60 }, () =>
        builder.addColumn({ cost: -(20 + rng.below(30)), lower: 0, upper: 1, integer: true }),
      );
      for (let r = 0; r < 25; r++)
        builder.addRow(
          { lower: Number.NEGATIVE_INFINITY, upper: 300 },
          columns.map((c) => [c, 5 + rng.below(40)] as const),
        );
      const model = builder.build();
      const result = small.solve(model, { seconds: 0.02 });
      if (result.status === "optimal") {
        expect(isFeasible(model, result.columns)).toBe(true);
        const truth = highs.solve(model, { seconds: 5 });
        if (truth.status === "optimal") expect(result.objective).toBeCloseTo(truth.objective, 5);
      } else {
        expect(result.status).toBe("stopped");
        cut++;
        if (result.status === "stopped" && result.incumbent)
          expect(isFeasible(model, result.incumbent.columns)).toBe(true);
      }
    }
    expect(cut).toBeGreaterThan(0);
  });

  it("are chosen by size, and a doubtful answer of the small one is asked again", () => {
    const asked: string[] = [];
    const spy = (engine: LpEngine): LpEngine => ({
      name: engine.name,
      solve: (model, limits) => {
        asked.push(engine.name);
        return engine.solve(model, limits);
      },
    });
    const lp = createLp(spy(small), spy(highs));
    const tiny = new LpBuilder();
    const x = tiny.addColumn({ cost: 1, lower: 0, upper: 9, integer: true });
    tiny.addRow({ lower: 2.5, upper: 9 }, [[x, 1]]);
    expect(lp(tiny.build(), { seconds: 1 })).toMatchObject({ status: "optimal", objective: 3 });
    const impossible = new LpBuilder();
    const y = impossible.addColumn({ cost: 1, lower: 0, upper: 1 });
    impossible.addRow({ lower: 5, upper: 9 }, [[y, 1]]);
    expect(lp(impossible.build(), { seconds: 1 }).status).toBe("infeasible");
    const large = new LpBuilder();
    for (let c = 0; c < 300; c++)
      large.addRow({ lower: 1, upper: 2 }, [[large.addColumn({ cost: 1, lower: 0, upper: 9 }), 1]]);
    expect(lp(large.build(), { seconds: 5 })).toMatchObject({ status: "optimal", objective: 300 });
    expect(asked).toEqual([small.name, small.name, highs.name, highs.name]);
  });
});
