import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { backUp, restore } from "../../services/store/backup-file.js";
import { RedisStore } from "../../services/store/redis.js";
import { SqliteStore } from "../../services/store/sqlite.js";
import type { Commit, Dumped, Store, StoredRecord } from "../../services/store/store.js";
import { transact } from "../../services/store/transact.js";
import { TestRedis } from "../support/redis.js";

let folder: string;
let redis: TestRedis;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "deckshelf-backup-"));
  redis = await TestRedis.start();
}, 120_000);
afterAll(async () => {
  await redis.remove();
  await rm(folder, { recursive: true, force: true });
});

/** All that a dump says, taken together; `said`: how many records and ends of keys that took. */
async function everythingOf(store: Store): Promise<{
  readonly revision: number;
  readonly said: number;
  readonly records: ReadonlyMap<string, StoredRecord>;
}> {
  const records = new Map<string, StoredRecord>();
  let said = 0;
  const { revision, records: count } = await store.dump(async (some) => {
    said += some.length;
    for (const one of some) {
      if ("gone" in one) records.delete(one.key);
      else records.set(one.key, one);
    }
  });
  expect(records.size).toBe(count);
  return { revision, said, records };
}

describe("backup and restore", { timeout: 60_000 }, () => {
  it("carries a store from SQLite to Redis and back, every byte and revision", async () => {
    const from = new SqliteStore(join(folder, "from.db"));
    for (let i = 0; i < 450; i++)
      await transact(from, async (tx) => tx.put(`k/${i % 300}`, { i, odd: "\u0000 \ud83c\udf5e \n" }));
    await from.commit({ checks: [], puts: [], deletes: ["k/7"] });
    const file = join(folder, "one.backup");
    expect(await backUp(from, file)).toBe(299);
    const middle = new RedisStore(redis.url, "middle");
    expect(await restore(middle, file)).toBe(299);
    const second = join(folder, "two.backup");
    await backUp(middle, second);
    expect(await readFile(second, "utf8")).toBe(await readFile(file, "utf8"));
    const to = new SqliteStore(join(folder, "to.db"));
    await restore(to, second);
    expect(await everythingOf(to)).toEqual(await everythingOf(from));
    // Revisions go on: none of the old ones comes again.
    const { revision } = await transact(to, async (tx) => tx.put("new", 1));
    expect(revision).toBeGreaterThan((await everythingOf(from)).revision);
    await expect(restore(to, file)).rejects.toThrow(/has records already/);
    await expect(restore(middle, file)).rejects.toThrow(/has records already/);
    await Promise.all([from.close(), middle.close(), to.close()]);
  });

  it.each(["SQLite", "Redis"])("is of one moment while others write: %s", async (kind) => {
    const open = (): Store =>
      kind === "Redis" ? new RedisStore(redis.url, "busy") : new SqliteStore(join(folder, "busy.db"));
    const [writer, reader] = [open(), open()];
    const MANY = 100;
    // Each commit writes the same number to the first and the last key, and moves one record to the other end.
    const step = (n: number): Commit => ({
      checks: [],
      puts: [...["a", "z"].map((key) => ({ key, value: String(n) })), { key: place(n % 2, n % MANY), value: '"it"' }],
      deletes: [place(1 - (n % 2), n % MANY)],
    });
    const place = (end: number, i: number): string => `${end === 0 ? "b" : "y"}/${i}`;
    for (let n = 0; n < MANY; n++) await writer.commit(step(n));
    let isWriting = true;
    let written = MANY;
    const writing = (async () => {
      for (; isWriting; written++) await writer.commit(step(written + Math.floor(written / MANY)));
    })();
    let later = 0;
    for (let i = 0; i < 20; i++) {
      const { records, said } = await everythingOf(reader);
      later += said - records.size;
      expect(records.get("a")!.value).toBe(records.get("z")!.value);
      expect(records.size).toBe(MANY + 2);
      for (let at = 0; at < MANY; at++) expect(records.has(place(0, at))).toBe(!records.has(place(1, at)));
    }
    isWriting = false;
    await writing;
    expect(written).toBeGreaterThan(MANY);
    if (kind === "Redis") expect(later).toBeGreaterThan(0);
    await Promise.all([writer.close(), reader.close()]);
  });

  it("broken off, leaves no store that anybody could take for a whole one, and can be done again", async () => {
    const from = new SqliteStore(join(folder, "half.db"));
    const value = JSON.stringify("x".repeat(100_000));
    for (let i = 0; i < 40; i++) await from.commit({ checks: [], puts: [{ key: `k/${i}`, value }], deletes: [] });
    const { records, revision } = await everythingOf(from);
    for (const to of [new RedisStore(redis.url, "half"), new SqliteStore(join(folder, "half-to.db"))]) {
      const broken = async function* (): AsyncGenerator<Dumped> {
        for (const record of [...records.values()].slice(0, 30)) yield record;
        throw new Error("the power went");
      };
      await expect(to.load(broken(), revision)).rejects.toThrow(/power/);
      if (to instanceof RedisStore) {
        const server = new RedisStore(redis.url, "half");
        await expect(server.list("k/")).rejects.toThrow(/did not come to its end/);
        const put = { checks: [], puts: [{ key: "k/99", value: "1" }], deletes: [] };
        await expect(server.commit(put)).rejects.toThrow(/did not come to its end/);
        await server.close();
      } else expect(await to.count("")).toBe(0);
      const some = async function* (): AsyncGenerator<Dumped> {
        for (const record of [...records.values()].slice(0, 20)) yield record;
      };
      await to.load(some(), revision);
      expect((await everythingOf(to)).records.size).toBe(20);
      await to.close();
    }
    await from.close();
  });

  it("still reads the format before this one", async () => {
    const file = join(folder, "before.backup");
    const lines = [
      { format: "store/1", revision: 9, records: 1 },
      { key: "a", revision: 4, value: "1" },
    ];
    await writeFile(file, `${lines.map((line) => JSON.stringify(line)).join("\n")}\n`);
    const store = new SqliteStore(join(folder, "before.db"));
    expect(await restore(store, file)).toBe(1);
    expect(await store.get("a")).toEqual({ key: "a", revision: 4, value: "1" });
    expect(await store.commit({ checks: [], puts: [{ key: "b", value: "2" }], deletes: [] })).toEqual({ revision: 10 });
    await store.close();
  });

  it("refuses what is damaged, cut short or something else, and changes nothing", async () => {
    const store = new SqliteStore(join(folder, "some.db"));
    await transact(store, async (tx) => tx.put("a", 1));
    await transact(store, async (tx) => tx.put("b", 2));
    const file = join(folder, "whole.backup");
    await backUp(store, file);
    const lines = (await readFile(file, "utf8")).trimEnd().split("\n");
    const broken: [string, RegExp][] = [
      [lines.slice(0, 2).join("\n"), /cut short/],
      [[lines[0], "{", lines[2]].join("\n"), /line 2 is not JSON/],
      [[lines[0], '{"key":1}', lines[2]].join("\n"), /line 2 is not a record/],
      ['{"format":"store/99"}', /not a backup/],
      ["", /cut short/],
    ];
    const empty = new SqliteStore(join(folder, "empty.db"));
    for (const [text, why] of broken) {
      await writeFile(file, text);
      await expect(restore(empty, file)).rejects.toThrow(why);
    }
    expect(await empty.list("")).toEqual([]);
    await Promise.all([store.close(), empty.close()]);
  });

  it("a file of a newer program is refused", async () => {
    const path = join(folder, "newer.db");
    const { default: Database } = await import("libsql");
    const db = new Database(path);
    db.exec("pragma user_version = 99");
    db.close();
    expect(() => new SqliteStore(path)).toThrow(/newer program/);
  });
});
