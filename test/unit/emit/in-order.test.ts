import { describe, expect, it } from "vitest";
import type { Task } from "../../../schemas/index.js";
import { inOrder } from "../../../solver/emit/in-order.js";
import type { DayIndex } from "../../../solver/problem/day-index.js";
import { createRng } from "../../../solver/rng.js";

const ORIGIN_MINUTE = Date.UTC(2026, 10, 26, 12) / 60_000;
const index = { origin: ORIGIN_MINUTE } as DayIndex;

function taskAt(minute: number, id: string): Task {
  const start = new Date((ORIGIN_MINUTE + minute) * 60_000).toISOString().replace(".000Z", "Z");
  return { id, start, end: start } as Task;
}

function named(tasks: readonly Task[]): string[] {
  return tasks.map(({ start, id }) => `${start} ${id}`);
}

describe("tasks are written in order of start, those of one minute by id", () => {
  it.each([
    ["within a window", [-300, 2000]],
    ["and over centuries, as a timetable in force may name any year", [-50_000_000, 4_000_000_000]],
  ] as const)("%s", (_, [from, to]) => {
    const rng = createRng(1);
    const minutes = Array.from({ length: 60 }, () => from + Math.floor(rng.unit() * (to - from)));
    const tasks = minutes.flatMap((minute, i) => [taskAt(minute, `t${i}`), taskAt(minute, `s${59 - i}`)]);
    expect(named(inOrder(index, tasks))).toEqual(named(tasks).sort());
  });
});
