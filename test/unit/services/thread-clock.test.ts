import { existsSync, readlinkSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { ThreadClock } from "../../../services/days/thread-clock.js";

describe("how long a thread has worked", () => {
  it.runIf(existsSync("/proc/thread-self/schedstat"))("is what it did, not how long it waited", async () => {
    const clock = new ThreadClock(readlinkSync("/proc/thread-self"));
    const wall = performance.now();
    await new Promise((resolve) => setTimeout(resolve, 400));
    const waited = clock.worked();
    expect(waited).toBeLessThan(performance.now() - wall);
    let sum = 0;
    while (clock.worked() < waited + 20) sum += Math.sqrt(sum + 1);
    expect(sum).toBeGreaterThan(0);
    // More cannot have been done than time has passed.
    expect(clock.worked()).toBeLessThanOrEqual(performance.now() - wall + 1);
  });

  it("is the wall's time where nothing else can be known, and stands still for a thread that is gone", async () => {
    const clock = new ThreadClock(undefined);
    await new Promise((resolve) => setTimeout(resolve, 20));
    expect(clock.worked()).toBeGreaterThan(10);
    expect(new ThreadClock("1/task/0").worked()).toBe(0);
  });
});
