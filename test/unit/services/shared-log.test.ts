import { describe, expect, it } from "vitest";
import { SharedLog } from "../../../services/solving/shared-log.js";
import { createRng } from "../../../solver/rng.js";

const MARK = 7;
const STALL_MS = 30;

function joined(memory: SharedArrayBuffer, progress = 0): SharedLog {
  const log = new SharedLog(memory, STALL_MS);
  expect(log.join(progress, MARK)).not.toBe("apart");
  return log;
}

function add(log: SharedLog, ...words: number[]) {
  return log.add(Int32Array.from(words), words.length, false);
}

/** Reads all there is; each change is as long as its first word says. */
function read(log: SharedLog): number[][] {
  const changes: number[][] = [];
  for (let change = log.next(); change; change = log.next()) changes.push([...change.subarray(0, change[0])]);
  return changes;
}

async function sleep(ms: number): Promise<void> {
  await new Promise((resolve) => setTimeout(resolve, ms));
}

describe("a log that threads share", () => {
  it("gives each the changes of the others in one order, many times round its ring", () => {
    const rng = createRng(1);
    const memory = SharedLog.memory(1 << 8);
    const logs = [joined(memory), joined(memory), joined(memory)];
    const all: number[][] = [];
    const seen: number[][][] = [[], [], []];
    let behind = 0;
    for (let i = 0; i < 5000; i++) {
      const who = rng.below(3);
      const log = logs[who]!;
      const change = Array.from({ length: 1 + rng.below(40) }, () => rng.below(1000));
      change[0] = change.length;
      const added = add(log, ...change);
      if (added === "added") {
        all.push(change);
        seen[who]!.push(change);
        continue;
      }
      if (added === "behind") behind++;
      else for (const [other, changes] of seen.entries()) changes.push(...read(logs[other]!));
      seen[who]!.push(...read(log));
    }
    logs.forEach((log, who) => seen[who]!.push(...read(log)));
    for (const changes of seen) expect(changes).toEqual(all);
    expect(behind).toBeGreaterThan(1000);
    expect(all.length).toBeGreaterThan(1000);
  });

  it("has room for no more than the slowest reader allows, unless it leaves", () => {
    const memory = SharedLog.memory(1 << 6);
    const writer = joined(memory);
    const reader = joined(memory);
    for (let i = 0; i < 6; i++) expect(add(writer, 8, 0, 0, 0, 0, 0, 0, i)).toBe("added");
    expect(add(writer, 8, 0, 0, 0, 0, 0, 0, 6)).toBe("full");
    expect(read(reader).map((change) => change[7])).toEqual([0, 1, 2, 3, 4, 5]);
    expect(add(writer, 8, 0, 0, 0, 0, 0, 0, 6)).toBe("added");
    reader.leave();
    for (let i = 0; i < 20; i++) expect(add(writer, 8, 0, 0, 0, 0, 0, 0, i)).toBe("added");
    expect(read(reader)).toEqual([]);
    expect(writer.add(new Int32Array(100), 100, true)).toBe("full");
  });

  it("gives up who does not read any more; who was given up goes on alone", async () => {
    const memory = SharedLog.memory(1 << 6);
    const writer = joined(memory);
    const stalled = joined(memory);
    while (add(writer, 4, 1, 2, 3) === "added");
    await sleep(2 * STALL_MS);
    expect(add(writer, 4, 1, 2, 3)).toBe("added");
    // Its seat is taken by another.
    const late = joined(memory);
    expect(read(stalled)).toEqual([]);
    expect(add(stalled, 4, 9, 9, 9)).toBe("added");
    stalled.tell(0.9);
    stalled.leave();
    expect(read(late)).toEqual([]);
    expect(add(writer, 4, 5, 5, 5)).toBe("added");
    expect(read(late)).toEqual([[4, 5, 5, 5]]);
  });

  it("is alone when a thread ended while it added", () => {
    const memory = SharedLog.memory(1 << 6);
    const log = joined(memory);
    const other = joined(memory);
    new Int32Array(memory)[0] = 1;
    expect(add(log, 4, 1, 2, 3)).toBe("added");
    expect(read(other)).toEqual([]);
    expect(add(other, 4, 1, 2, 3)).toBe("added");
    expect(new SharedLog(memory, STALL_MS).join(0, MARK)).toBe("apart");
  });

  it("welcomes who comes in time and has the same model, with the plan that somebody adds for it", () => {
    const memory = SharedLog.memory(1 << 8);
    const first = new SharedLog(memory);
    expect(first.join(0.02, MARK)).toBe("alone");
    expect(first.isPlanAsked()).toBe(false);
    add(first, 3, 0, 0);
    expect(new SharedLog(memory).join(0, MARK + 1)).toBe("apart");
    const second = new SharedLog(memory);
    expect(second.join(0, MARK)).toBe("welcome");
    expect(first.isPlanAsked()).toBe(true);
    add(first, 3, 1, 1);
    expect(first.add(Int32Array.of(4, 7, 7, 7), 4, true)).toBe("added");
    expect(first.isPlanAsked()).toBe(false);
    add(first, 3, 2, 2);
    expect([...second.welcome()!.subarray(0, 4)]).toEqual([4, 7, 7, 7]);
    expect(read(second)).toEqual([[3, 2, 2]]);
    first.tell(0.5);
    expect(new SharedLog(memory).join(0.05, MARK)).toBe("apart");
    expect(new SharedLog(memory).join(0.45, MARK)).toBe("apart");
    second.tell(0.5);
    expect(new SharedLog(memory).join(0.45, MARK)).toBe("welcome");
  });

  it("lets who comes when all have left begin anew, and who is not welcomed search alone", () => {
    const memory = SharedLog.memory(1 << 8);
    const first = joined(memory);
    const second = new SharedLog(memory);
    expect(second.join(0, MARK)).toBe("welcome");
    expect(second.welcome()).toBeUndefined();
    second.leave();
    first.leave();
    expect(new SharedLog(memory).join(0.9, MARK + 1)).toBe("alone");
  });
});
