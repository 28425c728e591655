import { describe, expect, it } from "vitest";
import type { DayDocuments, Happening } from "../../schemas/index.js";
import { draw } from "../../solver/index.js";
import { indexDay } from "../../solver/problem/day-index.js";
import { keepLocked } from "../../solver/problem/kept.js";
import { keptStanding } from "../../solver/problem/kept-standing.js";
import { createRng } from "../../solver/rng.js";
import { randomDay } from "../days/random-day.js";
import { loadLp } from "../support/lp.js";

const lp = await loadLp();

/** A day with some tasks of its own timetable locked, and sometimes with an order more. */
function lockedDay(seed: number): DayDocuments | null {
  const day = randomDay(seed, "small");
  const inForce = draw(day, { iterations: 12, seed, now: () => 0, lp }).timetable;
  const rng = createRng(seed);
  const tasks = inForce.tasks.filter((task) => task.does !== "clean" && task.does !== "van");
  if (tasks.length === 0) return null;
  const locks: Happening[] = Array.from({ length: 1 + rng.below(4) }, () => ({
    kind: "lock",
    task: tasks[rng.below(tasks.length)]!.id,
  }));
  const lines =
    rng.below(2) === 0 ? day.orders.lines : day.orders.lines.map((line) => ({ ...line, pieces: line.pieces + 6 }));
  return {
    ...day,
    orders: { ...day.orders, lines },
    happenings: { ...day.happenings, happenings: [...day.happenings.happenings, ...locks] },
    inForce,
  };
}

describe("locked tasks", () => {
  it("stay where they are, on 300 random days", { timeout: 300_000 }, () => {
    let locked = 0;
    for (let seed = 1; seed <= 300; seed++) {
      const day = lockedDay(seed);
      if (!day) continue;
      const { timetable, breaches } = draw(day, { iterations: 20, seed: seed + 1, now: () => 0, lp });
      expect(breaches, `seed ${seed}`).toEqual([]);
      for (const happening of day.happenings.happenings) {
        if (happening.kind !== "lock") continue;
        const before = day.inForce!.tasks.find((task) => task.id === happening.task)!;
        const after = timetable.tasks.find((task) => task.id === happening.task);
        expect(after, `seed ${seed} ${happening.task}`).toBeDefined();
        expect([after!.start, after!.end, after!.unit]).toEqual([before.start, before.end, before.unit]);
        locked++;
      }
    }
    expect(locked).toBeGreaterThan(300);
  });

  it("leave room on the shelves for each container that their batches have there, on 100 random days", () => {
    let seen = 0;
    for (let seed = 1; seed <= 100; seed++) {
      const day = lockedDay(seed);
      if (!day) continue;
      const index = indexDay(day);
      const kept = keepLocked(index);
      const standing = keptStanding(index, kept);
      const loads = new Set(kept.batches.flatMap((batch) => batch.loads.map(({ id }) => id)));
      const items = new Map<string, Set<string>>();
      for (const task of day.inForce!.tasks) {
        if (task.does !== "retard" || !loads.has(task.load!)) continue;
        const own = items.get(task.site) ?? new Set();
        items.set(task.site, own);
        for (const { item } of task.places ?? []) own.add(item);
      }
      for (const [site, own] of items) {
        let room = 0;
        for (const [key, count] of standing) if (key.startsWith(`${site} `)) room += count;
        expect(room, `seed ${seed} ${site}`).toBeGreaterThanOrEqual(own.size);
        seen += own.size;
      }
    }
    expect(seen).toBeGreaterThan(100);
  });
});
