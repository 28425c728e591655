import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { DocumentName } from "../../schemas/index.js";
import { dayKeys } from "../../services/days/day.js";
import { jobKeys } from "../../services/jobs/job.js";
import { Retention } from "../../services/operating/retention.js";
import { RedisStore } from "../../services/store/redis.js";
import { SqliteStore } from "../../services/store/sqlite.js";
import type { Store } from "../../services/store/store.js";
import { transact } from "../../services/store/transact.js";
import { build } from "../support/built.js";
import { TestRedis } from "../support/redis.js";

const NOW = Date.parse("2026-11-27T06:00:00Z");
const ago = (days: number): string => new Date(NOW - days * 86_400_000).toISOString();

let folder: string;
let redis: TestRedis;
beforeAll(async () => {
  build();
  folder = await mkdtemp(join(tmpdir(), "deckshelf-retention-"));
  redis = await TestRedis.start();
}, 120_000);
afterAll(async () => {
  await redis.remove();
  await rm(folder, { recursive: true, force: true });
});

let space = 0;
const kinds = [
  { name: "SQLite", open: (): Store => new SqliteStore(join(folder, `${++space}.db`)) },
  { name: "Redis", open: (): Store => new RedisStore(redis.url, `keep${++space}`) },
];

/** Writes many records in one commit. */
const put = (store: Store, records: Readonly<Record<string, unknown>>): Promise<unknown> =>
  transact(store, async (tx) => {
    for (const [key, value] of Object.entries(records)) tx.put(key, value);
  });

const keys = async (store: Store, prefix = ""): Promise<string[]> => (await store.list(prefix)).map(({ key }) => key);

function job(id: string, days: number, more: object = {}): Record<string, unknown> {
  const record = {
    id,
    operation: "draw",
    day: "friday",
    state: "done",
    createdAt: ago(days),
    finishedAt: ago(days),
    ...more,
  };
  return {
    [jobKeys.job(id)]: record,
    [jobKeys.input(id)]: { request: "{}" },
    [jobKeys.result(id)]: { timetable: {} },
    [jobKeys.listed("friday", id)]: {},
  };
}

/** Versions of a document, by their age in days, the oldest first. */
function versions(day: string, name: DocumentName, ages: readonly number[]): Record<string, unknown> {
  return Object.fromEntries(
    ages.flatMap((age, i) => [
      [dayKeys.document(day, name, i + 1), { of: i + 1 }],
      [dayKeys.history(day, name, i + 1), { version: i + 1, at: ago(age), by: "office", bytes: 1 }],
    ]),
  );
}

const keep = { days: 90, versions: 2, auditDays: 400 };

describe.each(kinds)("what is over, in the $name store", { timeout: 60_000 }, ({ open }) => {
  it("is dropped when it is old: jobs with all that is theirs, marks, audit, answers", async () => {
    const store = open();
    await put(store, {
      ...job("old", 91),
      ...job("young", 89),
      ...job("waiting", 200, { state: "waiting", finishedAt: undefined }),
      ...job("parent", 100, { parts: ["parent-1"] }),
      ...job("parent-1", 100, { parent: "parent" }),
      ...job("given-up", 100, { state: "cancelled", parts: ["given-up-1"] }),
      ...job("given-up-1", 100, { state: "running", parent: "given-up", finishedAt: undefined }),
      "mark/friday/1": { receivedAt: ago(91) },
      "mark/friday/2": { receivedAt: ago(1) },
      "audit/1": { at: ago(401) },
      "audit/2": { at: ago(399) },
      "idem/a/1": { at: ago(8) },
      "idem/a/2": { at: ago(6) },
      "token/1": { createdAt: ago(2000) },
    });
    expect(await new Retention(store, keep).sweep(NOW)).toEqual({
      jobs: 2,
      versions: 0,
      marks: 1,
      audit: 1,
      answers: 1,
    });
    const left = ["given-up", "given-up-1", "waiting", "young"];
    for (const prefix of ["job/", "input/", "result/"])
      expect(await keys(store, prefix)).toEqual(left.map((id) => prefix + id));
    expect(await keys(store, "mark/")).toEqual(["mark/friday/2"]);
    expect(await keys(store, "audit/")).toEqual(["audit/2"]);
    expect(await keys(store, "idem/")).toEqual(["idem/a/2"]);
    expect(await keys(store, "token/")).toEqual(["token/1"]);
    await store.close();
  });

  it("never drops a version that holds, is among the newest, or that a job speaks of", async () => {
    const store = open();
    await put(store, {
      [dayKeys.day("friday")]: { id: "friday", versions: { timetable: 1, orders: 6 }, change: 9 },
      ...versions("friday", "timetable", [300, 290, 280, 270, 260]),
      ...versions("friday", "orders", [300, 290, 95, 60, 50, 40]),
      ...job("morning", 10, { versions: { orders: 2, timetable: 2 } }),
      [dayKeys.day("gone")]: { id: "gone", versions: { orders: 3 }, deleted: true },
      ...versions("gone", "orders", [300, 200, 100]),
    });
    const numbers = async (day: string, name: DocumentName): Promise<number[]> => {
      const texts = (await keys(store, `doc/${day}/${name}/`)).map((key) => Number(key.split("/").at(-1)));
      const entries = (await keys(store, `hist/${day}/${name}/`)).map((key) => Number(key.split("/").at(-1)));
      expect(texts).toEqual(entries);
      return texts;
    };
    expect((await new Retention(store, keep).sweep(NOW)).versions).toBe(1 + 2 + 2);
    // 1 is in force, a job was asked about 2, 4 and 5 are the newest.
    expect(await numbers("friday", "timetable")).toEqual([1, 2, 4, 5]);
    expect(await numbers("friday", "orders")).toEqual([2, 4, 5, 6]);
    expect(await numbers("gone", "orders")).toEqual([3]);
    expect((await new Retention(store, keep).sweep(NOW)).versions).toBe(0);
    await store.close();
  });

  it("keeps for ever what is kept for 0 days, and two sweeps at once drop each thing once", async () => {
    const store = open();
    await put(store, {
      ...Object.assign({}, ...Array.from({ length: 30 }, (_, i) => job(`j${i}`, 1000))),
      "audit/1": { at: ago(9999) },
    });
    const forEver = await new Retention(store, { days: 0, versions: 2, auditDays: 0 }).sweep(NOW);
    expect(forEver).toEqual({ jobs: 0, versions: 0, marks: 0, audit: 0, answers: 0 });
    const both = await Promise.all([1, 2].map(() => new Retention(store, { ...keep, auditDays: 0 }).sweep(NOW)));
    expect(both[0]!.jobs + both[1]!.jobs).toBe(30);
    expect(await keys(store)).toEqual(["audit/1"]);
    await store.close();
  });

  it("lets others go on in between", async () => {
    const store = new SqliteStore(join(folder, `breathe-${++space}.db`));
    const records = Array.from({ length: 6000 }, (_, i) => [`audit/${String(i).padStart(6, "0")}`, { at: ago(1) }]);
    await put(store, Object.fromEntries(records));
    let rounds = 0;
    let isOver = false;
    const count = (): void => {
      rounds++;
      if (!isOver) setImmediate(count);
    };
    count();
    await new Retention(store, { days: 90, versions: 20, auditDays: 400 }).sweep(NOW);
    isOver = true;
    expect(rounds).toBeGreaterThan(30);
    await store.close();
  });
});
