import { describe, expect, it } from "vitest";
import { pose } from "../../solver/draw.js";
import { createRng } from "../../solver/rng.js";
import { construct } from "../../solver/search/construct.js";
import { Draft } from "../../solver/search/draft.js";
import type { Mode, SearchModel } from "../../solver/search/model.js";
import { coreModel } from "../bench/core/adapter.js";
import { heldOut } from "../bench/core/generate.js";
import { randomDay } from "../days/random-day.js";
import { randomModel } from "../oracle/random-model.js";
import { loadLp } from "../support/lp.js";

const lp = await loadLp();
const SCALE = process.env.DECKSHELF_LONG === "1" ? 20 : 1;

function rowsOf({ holds, operations, spans, anchor }: Mode, after: boolean): number[] {
  const isSide = (k: number): boolean => (after ? k > anchor : k <= anchor);
  const own = operations.filter((_, k) => isSide(k));
  return [
    ...own.flatMap(({ alternatives }) => alternatives.map(({ row }) => row)),
    ...own.flatMap(({ crew }) => [...(crew?.rows ?? [])]),
    ...holds
      .filter((_, k) => isSide(k))
      .flatMap(({ rows, heatRows, ride }) => [...rows, ...heatRows, ...(ride?.rows ?? [])]),
    ...spans.map(({ row }) => row),
  ].filter((row) => row >= 0);
}

/**
 * Rows of which more can only help a load. After its bake a chain ends as early as it can and does not wait for the least cost of
 * being early: where being early costs something, more of what follows the bake may be dearer, and is left out here.
 */
function helpfulRows(model: SearchModel, load: number): number[] {
  const { modes, earlyCost } = model.loads[load]!;
  const before = new Set(modes.flatMap((mode) => rowsOf(mode, false)));
  const after = new Set(modes.flatMap((mode) => [...rowsOf(mode, true), ...mode.spans.map(({ row }) => row)]));
  if (earlyCost.every((cost) => cost === 0)) return [...new Set([...before, ...after])];
  return [...before].filter((row) => !after.has(row));
}

/** Inserts every placed load anew with one row the fuller, and compares; returns how often it became cheaper, and how often it was asked. */
function compare(model: SearchModel, seed: number): { cheaper: number; asked: number } {
  const draft = new Draft(model, createRng(seed));
  construct(draft);
  const { state, inserter, rng } = draft;
  let cheaper = 0;
  let asked = 0;
  for (let load = 0; load < model.loads.length; load++) {
    const { batch, dropCost, pinned } = model.loads[load]!;
    if (pinned || state.mixOption[batch]! < 0) continue;
    draft.removeLoad(load);
    const cost = inserter.find(load, dropCost) ? inserter.cost : dropCost;
    const rows = helpfulRows(model, load);
    for (let i = 0; i < 4 && rows.length > 0; i++) {
      const row = rows[rng.below(rows.length)]!;
      const more = 1 + rng.below(4);
      const line = state.free.subarray(row * state.horizon, (row + 1) * state.horizon);
      for (let t = 0; t < line.length; t++) line[t] = line[t]! + more;
      const withMore = inserter.find(load, dropCost) ? inserter.cost : dropCost;
      for (let t = 0; t < line.length; t++) line[t] = line[t]! - more;
      expect(withMore, `seed ${seed} load ${load} row ${row}`).toBeLessThanOrEqual(cost);
      if (withMore < cost) cheaper++;
      asked++;
    }
    draft.reject();
  }
  return { cheaper, asked };
}

describe("more of something never makes an insertion dearer", () => {
  it("on random models", { timeout: 60_000 * SCALE }, () => {
    let cheaper = 0;
    let asked = 0;
    for (let seed = 1; seed <= 600 * SCALE; seed++) {
      const found = compare(randomModel(seed, 40, 6, seed % 2 === 0), seed);
      cheaper += found.cheaper;
      asked += found.asked;
    }
    expect(asked).toBeGreaterThan(5000 * SCALE);
    expect(cheaper).toBeGreaterThan(asked / 50);
  });

  it("on random days and core instances", { timeout: 60_000 * SCALE }, () => {
    let cheaper = 0;
    for (let seed = 1; seed <= 60 * SCALE; seed++)
      cheaper += compare(pose(randomDay(seed, "small"), lp).model, seed).cheaper;
    for (let seed = 1; seed <= 5; seed++) cheaper += compare(coreModel(heldOut("M", seed)), seed).cheaper;
    expect(cheaper).toBeGreaterThan(10);
  });
});
