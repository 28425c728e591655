import { afterAll, beforeAll, beforeEach, describe, expect, it } from "vitest";
import { BullJobQueue } from "../../services/queue/bull.js";
import { LocalQueue } from "../../services/queue/local.js";
import type { Queue, QueueMessage } from "../../services/queue/queue.js";
import { TestRedis } from "../support/redis.js";

let redis: TestRedis | undefined;
let space = 0;

const kinds = [
  { name: "local", open: (): Queue => new LocalQueue(), needsRedis: false },
  { name: "BullMQ", open: (): Queue => new BullJobQueue(redis!.url, `test${space}`), needsRedis: true },
];

function message(job: string, rank = 1, ticket = job): QueueMessage {
  return { job, ticket, rank };
}

async function until(condition: () => boolean | Promise<boolean>): Promise<void> {
  while (!(await condition())) await new Promise((resolve) => setTimeout(resolve, 10));
}

describe.each(kinds)("the $name queue", { timeout: 30_000 }, ({ open, needsRedis }) => {
  let queue: Queue;
  beforeAll(async () => {
    if (needsRedis) redis = await TestRedis.start();
  }, 120_000);
  afterAll(async () => {
    if (needsRedis) await redis!.remove();
  });
  beforeEach(() => {
    space++;
    queue = open();
    return () => queue.close();
  });

  it("hands out by rank, and in order within a rank", async () => {
    for (const [job, rank] of [
      ["c", 5],
      ["a", 1],
      ["d", 5],
      ["b", 1],
      ["e", 900],
    ] as const)
      await queue.push(message(job, rank));
    expect(await queue.depth()).toBe(5);
    const got: string[] = [];
    queue.consume(async ({ job }) => void got.push(job), 1);
    await until(() => got.length === 5);
    expect(got).toEqual(["a", "b", "c", "d", "e"]);
    expect(await queue.depth()).toBe(0);
  });

  it("puts a ticket on the queue once while it waits, and again later", async () => {
    await queue.push(message("a", 1, "t1"));
    await queue.push(message("a", 1, "t1"));
    await queue.push(message("a", 1, "t2"));
    const got: string[] = [];
    const consumer = queue.consume(async ({ ticket }) => void got.push(ticket), 1);
    await until(() => got.length === 2);
    await consumer.close();
    expect(got).toEqual(["t1", "t2"]);
    await queue.push(message("a", 1, "t1"));
    expect(await queue.depth()).toBe(1);
  });

  it("hands out so many at a time", async () => {
    let now = 0;
    let most = 0;
    let done = 0;
    for (let i = 0; i < 12; i++) await queue.push(message(`j${i}`));
    queue.consume(async () => {
      most = Math.max(most, ++now);
      await new Promise((resolve) => setTimeout(resolve, 20));
      now--;
      done++;
    }, 3);
    await until(() => done === 12);
    expect(most).toBe(3);
  });

  it("goes on when a handler fails", async () => {
    const got: string[] = [];
    queue.consume(async ({ job }) => {
      got.push(job);
      if (job === "bad") throw new Error("no");
    }, 1);
    await queue.push(message("bad"));
    await queue.push(message("good"));
    await until(() => got.includes("good"));
    expect(got.filter((job) => job === "good")).toHaveLength(1);
  });

  it("closes a consumer when what it has in hand is done, and keeps the rest", async () => {
    let finish = (): void => undefined;
    const began: string[] = [];
    const consumer = queue.consume(async ({ job }) => {
      began.push(job);
      await new Promise<void>((resolve) => {
        finish = resolve;
      });
    }, 1);
    await queue.push(message("a"));
    await queue.push(message("b"));
    await until(() => began.length === 1);
    let isClosed = false;
    const closing = consumer.close().then(() => {
      isClosed = true;
    });
    await new Promise((resolve) => setTimeout(resolve, 50));
    expect(isClosed).toBe(false);
    finish();
    await closing;
    expect(began).toEqual(["a"]);
    expect(await queue.depth()).toBe(1);
  });

  it("shares out between consumers: each message to one", async () => {
    const got: string[] = [];
    for (let i = 0; i < 3; i++) queue.consume(async ({ job }) => void got.push(job), 2);
    for (let i = 0; i < 60; i++) await queue.push(message(`j${i}`));
    await until(() => got.length >= 60);
    await new Promise((resolve) => setTimeout(resolve, 50));
    expect(new Set(got).size).toBe(60);
    expect(got).toHaveLength(60);
  });
});
