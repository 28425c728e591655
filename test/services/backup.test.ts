import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { backUp, restore } from "../../services/store/backup-file.js";
import { RedisStore } from "../../services/store/redis.js";
import { SqliteStore } from "../../services/store/sqlite.js";
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
    expect(await to.dump()).toEqual(await from.dump());
    // Revisions go on: none of the old ones comes again.
    const { revision } = await transact(to, async (tx) => tx.put("new", 1));
    expect(revision).toBeGreaterThan((await from.dump()).revision);
    await expect(restore(to, file)).rejects.toThrow(/has records already/);
    await expect(restore(middle, file)).rejects.toThrow(/has records already/);
    await Promise.all([from.close(), middle.close(), to.close()]);
  });

  it("is of one moment while others write", async () => {
    const path = join(folder, "busy.db");
    const [writer, reader] = [new SqliteStore(path), new SqliteStore(path)];
    const pair = (n: number) => ({
      checks: [],
      puts: ["a", "b"].map((key) => ({ key, value: String(n) })),
      deletes: [],
    });
    await writer.commit(pair(0));
    let isWriting = true;
    const writing = (async () => {
      for (let n = 1; isWriting; n++) {
        await writer.commit(pair(n));
        await new Promise((resolve) => setImmediate(resolve));
      }
    })();
    for (let i = 0; i < 30; i++) {
      const { records } = await reader.dump();
      expect(new Set(records.map(({ value }) => value)).size).toBe(1);
      await new Promise((resolve) => setImmediate(resolve));
    }
    isWriting = false;
    await writing;
    await Promise.all([writer.close(), reader.close()]);
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
