import { describe, expect, it } from "vitest";
import type { DayDocuments } from "../../schemas/index.js";
import { validateDocument } from "../../schemas/validate.js";
import { draw } from "../../solver/index.js";
import { randomDay } from "../days/random-day.js";
import { loadLp } from "../support/lp.js";

const LONG = process.env.DECKSHELF_LONG === "1";
const DAYS = LONG ? 20_000 : 2_000;
const FIRST_SEED = LONG ? Number(process.env.DECKSHELF_SEED ?? 100_000) : 1;
const CHUNK = 250;
const lp = await loadLp();

/** What the days had in them, so that a generator that has lost a feature shows. */
const seen = {
  made: 0,
  short: 0,
  late: 0,
  handOvers: new Set<string>(),
  does: new Set<string>(),
  empty: 0,
  trade: new Set<string>(),
};

function noteTrade(day: DayDocuments): void {
  for (const dough of day.catalogue.doughs) {
    if (dough.ferment) seen.trade.add(`ferment ${dough.ferment.model}`);
    if (dough.limit) seen.trade.add("limit");
    if (dough.composition) seen.trade.add("composition");
  }
  for (const step of day.catalogue.products.flatMap(({ routes }) => routes.flatMap(({ steps }) => steps)))
    if ("typicalMinutes" in step && step.typicalMinutes !== undefined) seen.trade.add("typical proof");
  for (const deck of day.network.sites.flatMap(({ ovens }) => ovens.flatMap(({ decks }) => decks)))
    if (deck.coldStartMinutes === undefined) seen.trade.add("preheat from a balance");
}

function drawOne(seed: number): void {
  const day = randomDay(seed, seed % 4 === 0 ? "tiny" : "small");
  const before = JSON.stringify(day);
  const { timetable, breaches } = draw(day, { iterations: 12, seed, now: () => 0, lp });
  expect(breaches, `seed ${seed}`).toEqual([]);
  expect(validateDocument("timetable", timetable), `seed ${seed}`).toEqual([]);
  expect(JSON.stringify(day), `seed ${seed} changed its input`).toBe(before);
  for (const order of timetable.orders) {
    if (order.shortPieces > 0) seen.short++;
    if (order.lateMinutes > 0) seen.late++;
    if (order.state !== "on-time") expect(order.why, `seed ${seed} ${order.line}`).toBeDefined();
  }
  if (timetable.orders.length === 0) seen.empty++;
  if (timetable.loads.length > 0) noteTrade(day);
  seen.made += timetable.loads.length;
  for (const load of timetable.loads) if (load.handOver) seen.handOvers.add(load.handOver);
  for (const task of timetable.tasks) seen.does.add(task.does);
}

describe("every drawn timetable passes the verifier", () => {
  for (let from = 0; from < DAYS; from += CHUNK) {
    it(`random days ${FIRST_SEED + from} to ${FIRST_SEED + from + CHUNK - 1}`, { timeout: 600_000 }, () => {
      for (let i = 0; i < CHUNK; i++) drawOne(FIRST_SEED + from + i);
    });
  }

  it("and the days had everything in them", () => {
    expect([...seen.handOvers].sort()).toEqual(["baked", "pans", "tubs"]);
    expect([...seen.does].sort()).toEqual(
      [
        "bake",
        "boil",
        "clean",
        "cool",
        "mix",
        "pack",
        "proof",
        "rest",
        "retard",
        "shape",
        "temper",
        "top",
        "van",
      ].sort(),
    );
    expect([...seen.trade].sort()).toEqual(
      ["composition", "ferment growth", "ferment q10", "limit", "preheat from a balance", "typical proof"].sort(),
    );
    expect(seen.made).toBeGreaterThan(2 * DAYS);
    expect(seen.short).toBeGreaterThan(DAYS / 20);
    expect(seen.late).toBeGreaterThan(DAYS / 20);
    expect(seen.empty).toBeLessThan(DAYS / 5);
  });
});
