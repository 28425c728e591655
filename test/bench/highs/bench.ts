import { loadHighs } from "../../../solver/lp/engine-highs.js";
import type { LpEngine } from "../../../solver/lp/port.js";
import { createRng } from "../../../solver/rng.js";
import { construct } from "../../../solver/search/construct.js";
import { Draft } from "../../../solver/search/draft.js";
import { improve } from "../../../solver/search/improve.js";
import type { Mode, SearchModel } from "../../../solver/search/model.js";
import { randomModel } from "../../oracle/random-model.js";
import { type ClockKind, clockOf, secondsText } from "../clock.js";
import { coreModel } from "../core/adapter.js";
import { heldOut } from "../core/generate.js";
import { loadText, table } from "../table.js";
import { canBeProgram, PlanProgram } from "./program.js";

const NONE = new Int32Array(0);

interface Tiny {
  readonly name: string;
  readonly model: SearchModel;
}

/** Random models of every kind of row without what the program leaves out: heat, and changes that cost. */
export function plainModel(model: SearchModel): SearchModel {
  const mode = (one: Mode): Mode => ({ ...one, holds: one.holds.map((hold) => ({ ...hold, heatRows: NONE })) });
  return {
    ...model,
    heaters: model.heaters.map((heater) => ({ ...heater, changeCost: 0 })),
    loads: model.loads.map((load) => ({ ...load, modes: load.modes.map(mode) })),
  };
}

/** Loads are let be late by so much at most: a help for the integer program, which has fewer columns so. */
const LATEST_MINUTES = 30;

function tinyCore(seed: number): Tiny {
  const instance = { ...heldOut("XS", seed), outages: [] };
  const model = coreModel(instance);
  const loads = model.loads.map((load, l) => ({
    ...load,
    modes: load.modes.map((mode) => ({ ...mode, finishBy: instance.loads[l]!.due + LATEST_MINUTES })),
  }));
  return { name: instance.name, model: { ...model, loads } };
}

const RANDOM: readonly (readonly [horizon: number, loads: number, seeds: readonly number[]])[] = [
  [20, 3, [1, 2]],
  [30, 4, [1, 2, 3]],
  [40, 6, [1, 2]],
];

function instances(): Tiny[] {
  const random = RANDOM.flatMap(([horizon, loads, seeds]) =>
    seeds.map((seed) => ({
      name: `random ${horizon} min ${loads} loads ${seed}`,
      model: plainModel(randomModel(seed, horizon, loads, false)),
    })),
  );
  return [...random, tinyCore(1)];
}

/** The search's best cost within its budget, and when it had it. */
function searched(model: SearchModel, now: () => number, seconds: number) {
  const started = now();
  const draft = new Draft(model, createRng(1));
  construct(draft);
  let cost = draft.state.cost;
  let foundMs = now() - started;
  improve(draft, {
    progress: () => (now() - started) / (1000 * seconds),
    onBetter: (plan) => {
      cost = plan.cost;
      foundMs = now() - started;
    },
  });
  return { cost, foundMs };
}

/** Runs the program; ends when a plan of cost `target` is found, if one is given. */
function programmed(engine: LpEngine, model: SearchModel, now: () => number, seconds: number, target?: number) {
  const started = now();
  const lp = new PlanProgram(model).build();
  const result = engine.solve(lp, { seconds, ...(target === undefined ? {} : { target }) });
  const cost =
    result.status === "optimal"
      ? result.objective
      : result.status === "stopped"
        ? result.incumbent?.objective
        : undefined;
  const bound = result.status === "optimal" ? result.objective : result.status === "stopped" ? result.bound : undefined;
  return { cost, bound, isProven: result.status === "optimal", ms: now() - started, columns: lp.columnCount };
}

/**
 * The search against the same model as an integer program in HiGHS (WebAssembly): how long each takes to the same cost. Returns 1 when
 * the two contradict each other.
 */
export async function benchHighs(seconds: number, searchSeconds: number, clock: ClockKind): Promise<number> {
  const engine = await loadHighs();
  const now = clockOf(clock, 1);
  const rows: (string | number)[][] = [];
  const before = loadText();
  let code = 0;
  for (const { name, model } of instances()) {
    if (!canBeProgram(model)) throw new Error(`${name} cannot be written as a program`);
    searched(model, now, 0.2);
    const search = searched(model, now, searchSeconds);
    const equal = programmed(engine, model, now, seconds, search.cost);
    const proof = equal.isProven ? equal : programmed(engine, model, now, seconds);
    const isEqual = equal.cost !== undefined && equal.cost <= search.cost + 1e-6;
    if (proof.bound !== undefined && proof.bound > search.cost + 1e-3) {
      code = 1;
      process.stdout.write(`${name}: the program's bound ${proof.bound} is above a plan of cost ${search.cost}\n`);
    }
    rows.push([
      name,
      model.loads.length,
      proof.columns,
      search.cost,
      search.foundMs.toFixed(1),
      proof.cost === undefined ? "none" : Math.round(proof.cost),
      isEqual ? equal.ms.toFixed(0) : "-",
      isEqual ? (equal.ms / Math.max(0.1, search.foundMs)).toFixed(0) : "-",
      proof.isProven ? proof.ms.toFixed(0) : "-",
      proof.bound === undefined ? "-" : Math.round(proof.bound),
    ]);
    process.stderr.write(`${rows.at(-1)!.join("  ")}\n`);
  }
  process.stdout.write(
    `search ${searchSeconds} s, HiGHS at most ${seconds} s by its own clock; times in ms, ${secondsText(clock)}; before: ${before}; after: ${loadText()}\n\n`,
  );
  const header = "instance,loads,columns,search cost,found ms,HiGHS cost,equal ms,x slower,proven ms,bound";
  process.stdout.write(table(header.split(","), rows));
  return code;
}
