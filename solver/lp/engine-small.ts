import solverModule from "javascript-lp-solver";
import { isFeasible, type LpModel, objectiveAt } from "./model.js";
import type { LpEngine, LpLimits, LpResult } from "./port.js";

/** What this adapter gives to and reads from the library; its own types name a default export that Node does not see. */
interface Library {
  Solve(model: {
    optimize: string;
    opType: "min";
    constraints: Record<string, { min?: number; max?: number; equal?: number }>;
    variables: Record<string, Record<string, number>>;
    ints: Record<string, 1>;
    unrestricted: Record<string, 1>;
    options: { timeout: number; tolerance: number };
  }): Record<string, unknown>;
}

const library = solverModule as unknown as Library;

/** Bounds of a row or column as the library's constraint; null when it has none. */
function constraint(lower: number, upper: number): { min?: number; max?: number; equal?: number } | null {
  if (lower === upper) return { equal: lower };
  if (!Number.isFinite(lower) && !Number.isFinite(upper)) return null;
  return { ...(Number.isFinite(lower) ? { min: lower } : {}), ...(Number.isFinite(upper) ? { max: upper } : {}) };
}

function translate(model: LpModel, seconds: number): Parameters<Library["Solve"]>[0] {
  const constraints: Record<string, { min?: number; max?: number; equal?: number }> = {};
  const variables: Record<string, Record<string, number>> = {};
  const ints: Record<string, 1> = {};
  const unrestricted: Record<string, 1> = {};
  for (let c = 0; c < model.columnCount; c++) {
    const name = `v${c}`;
    variables[name] = { z: model.cost[c]! };
    if (model.integer[c]) ints[name] = 1;
    // The library's columns start at 0; other lower bounds become rows.
    const lower = model.lower[c]!;
    if (lower < 0) unrestricted[name] = 1;
    const bounds = constraint(lower === 0 ? Number.NEGATIVE_INFINITY : lower, model.upper[c]!);
    if (!bounds) continue;
    constraints[`b${c}`] = bounds;
    variables[name][`b${c}`] = 1;
  }
  for (let r = 0; r < model.rowCount; r++) {
    const bounds = constraint(model.rowLower[r]!, model.rowUpper[r]!);
    if (!bounds) continue;
    constraints[`r${r}`] = bounds;
    for (let i = model.starts[r]!; i < model.starts[r + 1]!; i++)
      variables[`v${model.columns[i]!}`]![`r${r}`] = model.values[i]!;
  }
  return {
    optimize: "z",
    opType: "min",
    constraints,
    variables,
    ints,
    unrestricted,
    options: { timeout: Math.max(1, Math.round(seconds * 1000)), tolerance: 0 },
  };
}

function readColumns(model: LpModel, answer: Record<string, unknown>): Float64Array {
  const columns = new Float64Array(model.columnCount);
  for (let c = 0; c < model.columnCount; c++) {
    const value = answer[`v${c}`];
    columns[c] = typeof value === "number" ? value : 0;
    if (model.integer[c]) columns[c] = Math.round(columns[c]!);
  }
  return columns;
}

/**
 * javascript-lp-solver: quick on small models, no duals. Its answers are checked; `now` (milliseconds) tells a run that
 * used up its time from one that finished, which the library itself does not say.
 */
export function createSmallEngine(now: () => number): LpEngine {
  const solve = (model: LpModel, limits: LpLimits): LpResult => {
    const integers = model.integer.some((flag) => flag === 1);
    const started = now();
    const answer = library.Solve(translate(model, limits.seconds));
    const timedOut = integers && now() - started >= limits.seconds * 1000 * 0.95;
    // An unbounded model says feasible; a run out of time may say feasible at a fractional point, or infeasible.
    if (answer.bounded === false) return { status: "unbounded" };
    if (answer.feasible !== true) return { status: timedOut ? "stopped" : "infeasible" };
    const columns = readColumns(model, answer);
    if ((integers && answer.isIntegral !== true) || !isFeasible(model, columns)) return { status: "stopped" };
    const objective = objectiveAt(model, columns);
    if (timedOut) return { status: "stopped", incumbent: { objective, columns } };
    return { status: "optimal", objective, columns };
  };
  return { name: "javascript-lp-solver", solve };
}
