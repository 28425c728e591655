import highsLoader from "highs";
import { isFeasible, type LpModel, objectiveAt } from "./model.js";
import type { LpEngine, LpLimits, LpResult } from "./port.js";

/** What is used of the library; its own types describe a CommonJS default that NodeNext resolves differently. */
interface HighsModel {
  readonly options: { set(name: string, value: boolean | number | string): unknown };
  readonly info: { get(name: string): number | bigint };
  run(): { readonly modelStatus: number };
  getSolution(): { colValue: Float64Array; colDual: Float64Array; rowDual: Float64Array };
}
interface Highs {
  withModel<T>(source: unknown, operation: (model: HighsModel) => T): T;
}
const load = highsLoader as unknown as () => Promise<Highs>;

/** Model statuses of the library. */
const EMPTY = 6;
const OPTIMAL = 7;
const INFEASIBLE = 8;
const UNBOUNDED_OR_INFEASIBLE = 9;
const UNBOUNDED = 10;

function source(model: LpModel): unknown {
  return {
    numCols: model.columnCount,
    numRows: model.rowCount,
    colCost: model.cost,
    colLower: model.lower,
    colUpper: model.upper,
    rowLower: model.rowLower,
    rowUpper: model.rowUpper,
    matrix: {
      format: "csr",
      numRows: model.rowCount,
      numCols: model.columnCount,
      starts: model.starts,
      indices: model.columns,
      values: model.values,
    },
    ...(model.integer.some((flag) => flag === 1) ? { integrality: Int32Array.from(model.integer) } : {}),
  };
}

function optimal(model: LpModel, highs: HighsModel, integers: boolean): LpResult {
  const { colValue, colDual, rowDual } = highs.getSolution();
  const columns = Float64Array.from(colValue, (value, c) => (model.integer[c] ? Math.round(value) : value));
  if (!isFeasible(model, columns, 1e-5)) return { status: "stopped" };
  const found = { status: "optimal" as const, objective: objectiveAt(model, columns), columns };
  return integers ? found : { ...found, rowDuals: rowDual, reducedCosts: colDual };
}

function stopped(model: LpModel, highs: HighsModel, integers: boolean): LpResult {
  if (!integers) return { status: "stopped" };
  const bound = Number(highs.info.get("mip_dual_bound"));
  const columns = Float64Array.from(highs.getSolution().colValue, (value, c) =>
    model.integer[c] ? Math.round(value) : value,
  );
  const proven = Number.isFinite(bound) && Math.abs(bound) < 1e30 ? { bound } : {};
  if (columns.length !== model.columnCount || !isFeasible(model, columns)) return { status: "stopped", ...proven };
  return { status: "stopped", incumbent: { objective: objectiveAt(model, columns), columns }, ...proven };
}

function solve(highs: Highs, model: LpModel, limits: LpLimits): LpResult {
  const integers = model.integer.some((flag) => flag === 1);
  return highs.withModel(source(model), (native): LpResult => {
    native.options.set("output_flag", false);
    native.options.set("time_limit", limits.seconds);
    if (integers) native.options.set("mip_rel_gap", 1e-9);
    if (integers && limits.target !== undefined) native.options.set("objective_target", limits.target);
    if (limits.interiorPoint) {
      native.options.set("solver", "ipm");
      native.options.set("run_crossover", "off");
    }
    const { modelStatus } = native.run();
    if (modelStatus === OPTIMAL || modelStatus === EMPTY) return optimal(model, native, integers);
    if (modelStatus === INFEASIBLE) return { status: "infeasible" };
    if (modelStatus === UNBOUNDED) return { status: "unbounded" };
    if (modelStatus === UNBOUNDED_OR_INFEASIBLE) return { status: "infeasible-or-unbounded" };
    return stopped(model, native, integers);
  });
}

/** HiGHS compiled to WebAssembly: any size, duals. Synchronous; the caller runs it where blocking does no harm. */
export async function loadHighs(): Promise<LpEngine> {
  const highs = await load();
  return { name: "HiGHS", solve: (model, limits) => solve(highs, model, limits) };
}
