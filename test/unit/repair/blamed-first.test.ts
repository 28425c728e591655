import { describe, expect, it } from "vitest";
import type { DayDocuments } from "../../../schemas/index.js";
import { draw } from "../../../solver/index.js";
import { blamedFirst } from "../../../solver/repair/blamed-first.js";
import { placeWaiting } from "../../../solver/repair/index.js";
import { withoutPlace } from "../../../solver/repair/keep-all.js";
import { poseRepair } from "../../../solver/repair/pose.js";
import { settle } from "../../../solver/repair/settle.js";
import { createRng } from "../../../solver/rng.js";
import { auditState } from "../../../solver/search/audit.js";
import { Draft } from "../../../solver/search/draft.js";
import { realisticDay } from "../../bench/days/realistic-day.js";
import { loadLp } from "../../support/lp.js";

const lp = await loadLp();

/** A day of 60 loads whose busiest mixer at the instant is out for two and a half hours from then on, as the first plan of its repair leaves it. */
function evening(seed: number): { draft: Draft; hopeless: Set<number> } {
  const drawn = realisticDay(seed, 60);
  const inForce = draw(drawn, { iterations: 500, seed, now: () => 0, lp }).timetable;
  const times = inForce.tasks.map(({ start }) => Date.parse(start)).sort((a, b) => a - b);
  const first = times[0]!;
  const from = Math.round((first + 0.12 * (times[times.length - 1]! - first)) / 60_000) * 60_000;
  const to = from + 150 * 60_000;
  const counts = new Map<string, number>();
  for (const { does, unit, start, end } of inForce.tasks)
    if (does === "mix" && Date.parse(end) > from && Date.parse(start) < to)
      counts.set(unit!, (counts.get(unit!) ?? 0) + 1);
  const [unit] = [...counts].sort((a, b) => b[1] - a[1])[0]!;
  const iso = (ms: number) => new Date(ms).toISOString().replace(".000Z", "Z");
  const day: DayDocuments = {
    ...drawn,
    inForce,
    happenings: {
      format: "happenings/1",
      at: iso(from),
      happenings: [{ kind: "out-of-service", unit, from: iso(from), to: iso(to) }],
    },
  };
  const { problem } = poseRepair(day, lp);
  const draft = new Draft(problem.model, createRng(1));
  placeWaiting(draft, settle(draft));
  return { draft, hopeless: new Set(withoutPlace(problem.model, unmadeOf(draft))) };
}

const unmadeOf = ({ model, state }: Draft): number[] =>
  model.loads.map((_, load) => load).filter((load) => state.mode[load]! < 0);

describe("what is lost comes first", () => {
  it("deals out a broken mixer's batches anew in a few rounds, and what is pinned stays", { timeout: 120_000 }, () => {
    let before = 0;
    let after = 0;
    for (const seed of [1, 2, 4, 5]) {
      const { draft, hopeless } = evening(seed);
      const { state, model } = draft;
      const pinnedAt = () => model.batches.map(({ pinned }, batch) => (pinned ? state.mixStart[batch] : 0));
      const pinned = pinnedAt();
      const { cost } = state;
      before += unmadeOf(draft).length - hopeless.size;
      const rounds = blamedFirst(draft, { hopeless, isOver: (so) => so === 12 });
      expect(rounds).toBeLessThanOrEqual(12);
      auditState(state);
      expect(pinnedAt()).toEqual(pinned);
      expect(state.cost).toBeLessThanOrEqual(cost);
      after += unmadeOf(draft).length - hopeless.size;
    }
    expect(before).toBeGreaterThan(8);
    expect(after).toBeLessThan(0.7 * before);
  });

  it("begins nothing when nothing is lost or there is no time", () => {
    const { draft, hopeless } = evening(1);
    const asked: number[] = [];
    const isOver = (rounds: number) => asked.push(rounds) > 0;
    expect(blamedFirst(draft, { hopeless, isOver })).toBe(0);
    expect(asked).toEqual([0]);
    const all = new Set(unmadeOf(draft));
    expect(blamedFirst(draft, { hopeless: all, isOver: () => false })).toBe(0);
  });
});
