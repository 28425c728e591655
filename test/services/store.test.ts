import { mkdtemp, readdir, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import fc from "fast-check";
import { Redis } from "ioredis";
import { afterAll, beforeAll, beforeEach, describe, expect, it } from "vitest";
import { RedisStore } from "../../services/store/redis.js";
import { migrateRedis, REDIS_FORMAT } from "../../services/store/redis-format.js";
import { SqliteStore } from "../../services/store/sqlite.js";
import { FormatTooNew, type Store } from "../../services/store/store.js";
import { transact } from "../../services/store/transact.js";
import { build, deckshelf } from "../support/built.js";
import { TestRedis } from "../support/redis.js";
import { startProcess } from "../support/server.js";

/** What every store must do; each is opened on the same data as often as wanted. */
interface Kind {
  readonly name: string;
  setUp(): Promise<void>;
  open(): Store;
  /** Ends whatever is behind it without warning, and brings it back. */
  crash(): Promise<void>;
  tearDown(): Promise<void>;
}

let folder: string;
let redis: TestRedis;
let space = 0;

const sqlite: Kind = {
  name: "SQLite",
  setUp: async () => {
    folder = await mkdtemp(join(tmpdir(), "deckshelf-store-"));
  },
  open: () => new SqliteStore(join(folder, `${space}.db`)),
  crash: async () => undefined,
  tearDown: () => rm(folder, { recursive: true, force: true }),
};

const redisKind: Kind = {
  name: "Redis",
  setUp: async () => {
    redis = await TestRedis.start();
  },
  open: () => new RedisStore(redis.url, `test${space}`),
  crash: async () => {
    await redis.kill();
    await redis.up();
  },
  tearDown: () => redis.remove(),
};

beforeAll(build, 120_000);

const LONG = process.env.DECKSHELF_LONG === "1";

describe.each([sqlite, redisKind])("the $name store", { timeout: 60_000 }, (kind) => {
  let store: Store;
  beforeAll(() => kind.setUp(), 120_000);
  afterAll(() => kind.tearDown());
  beforeEach(() => {
    space++;
    store = kind.open();
    return () => store.close();
  });

  const put = (key: string, value: string, revision?: number) =>
    store.commit({
      checks: revision === undefined ? [] : [{ key, revision }],
      puts: [{ key, value }],
      deletes: [],
    });
  const revisionOf = (result: object): number => (result as { revision: number }).revision;

  it("writes, reads, and knows what is not there", async () => {
    expect(await store.get("a")).toBeUndefined();
    const revision = revisionOf(await put("a", "1"));
    expect(await store.get("a")).toEqual({ key: "a", revision, value: "1" });
    expect(await store.getMany(["b", "a"])).toEqual([undefined, { key: "a", revision, value: "1" }]);
    expect(await store.getMany([])).toEqual([]);
  });

  it("commits all or nothing, by revision", async () => {
    const first = revisionOf(await put("a", "1", 0));
    expect(await put("a", "2", 0)).toEqual({ conflict: "a" });
    const second = revisionOf(await put("a", "2", first));
    expect(second).toBeGreaterThan(first);
    const refused = await store.commit({
      checks: [
        { key: "b", revision: 0 },
        { key: "a", revision: first },
      ],
      puts: [{ key: "b", value: "x" }],
      deletes: ["a"],
    });
    expect(refused).toEqual({ conflict: "a" });
    expect(await store.get("b")).toBeUndefined();
    expect((await store.get("a"))!.value).toBe("2");
  });

  it("never uses a revision again, not even after a deletion", async () => {
    const seen: number[] = [];
    for (let i = 0; i < 20; i++) {
      const key = `k${i % 3}`;
      seen.push(revisionOf(await put(key, "v", 0)));
      seen.push(revisionOf(await store.commit({ checks: [], puts: [], deletes: [key] })));
    }
    expect(new Set(seen).size).toBe(seen.length);
    expect([...seen].sort((a, b) => a - b)).toEqual(seen);
  });

  it("lists by prefix in byte order, forwards and backwards, in pages", async () => {
    const keys = ["a", "a/", "a/1", "a/10", "a/2", "a/Z", "a/z~", "a0", "b/1"];
    await store.commit({ checks: [], puts: keys.map((key) => ({ key, value: key })), deletes: [] });
    const names = async (...args: Parameters<Store["list"]>) => (await store.list(...args)).map(({ key }) => key);
    expect(await names("a/")).toEqual(["a/", "a/1", "a/10", "a/2", "a/Z", "a/z~"]);
    expect(await names("a/", { limit: 2 })).toEqual(["a/", "a/1"]);
    expect(await names("a/", { limit: 2, after: "a/1" })).toEqual(["a/10", "a/2"]);
    expect(await names("a/", { backwards: true, limit: 2 })).toEqual(["a/z~", "a/Z"]);
    expect(await names("a/", { backwards: true, after: "a/2" })).toEqual(["a/10", "a/1", "a/"]);
    expect(await names("c")).toEqual([]);
    expect([await store.count("a/"), await store.count("a"), await store.count("c")]).toEqual([6, 8, 0]);
  });

  it("keeps any text, long and odd", async () => {
    const odd = JSON.stringify(`\u0000'"\\ \ud83c\udf5e \ud83c \r\n ${"ö".repeat(300_000)}`);
    await put("odd", odd);
    expect((await store.get("odd"))!.value).toBe(odd);
  });

  it("does what a model does, for random commits", { timeout: 120_000 }, async () => {
    const key = fc.constantFrom("a", "b", "c/1", "c/2");
    const step = fc.record({
      check: fc.option(fc.tuple(key, fc.constantFrom("now", "stale", "absent" as const))),
      puts: fc.array(
        fc.tuple(
          key,
          fc.string({ unit: "binary" }).map((text) => JSON.stringify(text)),
        ),
        { maxLength: 3 },
      ),
      deletes: fc.array(key, { maxLength: 1 }),
    });
    let commits = 0;
    await fc.assert(
      fc.asyncProperty(fc.array(step, { maxLength: 12 }), async (steps) => {
        space++;
        const fresh = kind.open();
        const model = new Map<string, { revision: number; value: string }>();
        for (const { check, puts, deletes } of steps) {
          const have = check ? (model.get(check[0])?.revision ?? 0) : 0;
          const wanted = check?.[1] === "now" ? have : check?.[1] === "absent" ? 0 : have + 1;
          const byKey = new Map(puts);
          const gone = deletes.filter((name) => !byKey.has(name));
          const result = await fresh.commit({
            checks: check ? [{ key: check[0], revision: wanted }] : [],
            puts: [...byKey].map(([name, value]) => ({ key: name, value })),
            deletes: gone,
          });
          commits++;
          if (check && wanted !== have) expect(result).toEqual({ conflict: check[0] });
          else {
            const revision = revisionOf(result);
            for (const [name, value] of byKey) model.set(name, { revision, value });
            for (const name of gone) model.delete(name);
          }
        }
        const all = [...(await fresh.list("a")), ...(await fresh.list("b")), ...(await fresh.list("c/"))];
        const expected = [...model].map(([name, record]) => ({ key: name, ...record }));
        expect(all).toEqual(expected.sort((x, y) => (x.key < y.key ? -1 : 1)));
        await fresh.close();
      }),
      { numRuns: LONG ? 500 : 30, seed: 7 },
    );
    console.log(`${kind.name}: ${commits} random commits equal to the model`);
  });

  it("counts right when many count at once, over several connections", async () => {
    const others = [kind.open(), kind.open(), kind.open()];
    const each = LONG ? 100 : 15;
    const count = async (own: Store): Promise<void> => {
      for (let i = 0; i < each; i++)
        await transact(own, async (tx) => tx.put("count", ((await tx.get<number>("count")) ?? 0) + 1));
    };
    await Promise.all(others.map(count));
    expect(JSON.parse((await store.get("count"))!.value)).toBe(3 * each);
    await Promise.all(others.map((one) => one.close()));
  });

  it("has everything that it answered for after a crash", async () => {
    let last = 0;
    for (let i = 0; i < 50; i++) last = revisionOf(await put(`k${i}`, String(i)));
    await store.close();
    await kind.crash();
    store = kind.open();
    expect(await store.list("k")).toHaveLength(50);
    expect(revisionOf(await put("more", "x"))).toBeGreaterThan(last);
  });

  it("can be asked whether it is there", async () => {
    await expect(store.ping()).resolves.toBeUndefined();
  });
});

describe("the Redis store alone", { timeout: 60_000 }, () => {
  beforeAll(() => redisKind.setUp(), 120_000);
  afterAll(() => redisKind.tearDown());

  it("knows settings of Redis that lose data", async () => {
    const store = redisKind.open() as RedisStore;
    expect(await store.dangers()).toEqual([]);
    await store.close();
  });
});

describe("the format of the records on Redis", { timeout: 60_000 }, () => {
  let raw: Redis;
  beforeAll(async () => {
    redis = await TestRedis.start();
    raw = new Redis(redis.url);
  }, 120_000);
  afterAll(async () => {
    raw.disconnect();
    await redis.remove();
  });
  const put = (store: Store, value: string) => store.commit({ checks: [], puts: [{ key: "a", value }], deletes: [] });

  it("is marked, also where the first release wrote without a mark", async () => {
    const store = new RedisStore(redis.url, "old");
    await put(store, "1");
    await raw.del("old:format");
    await store.close();
    const again = new RedisStore(redis.url, "old");
    expect((await again.get("a"))!.value).toBe("1");
    expect(await raw.get("old:format")).toBe(String(REDIS_FORMAT));
    // Taken away under a running program: marked again, and the commit is done once.
    await raw.del("old:format");
    const before = Number(await raw.get("old:revision"));
    await put(again, "2");
    expect(Number(await raw.get("old:revision"))).toBe(before + 1);
    expect(await raw.get("old:format")).toBe(String(REDIS_FORMAT));
    await again.close();
  });

  it("of a newer program is refused with a reason, at once and while running, and nothing is written", async () => {
    const running = new RedisStore(redis.url, "newer");
    await put(running, "1");
    await raw.set("newer:format", "99");
    await expect(put(running, "2")).rejects.toThrow(/newer program \(format 99; this one knows 1\)/);
    const late = new RedisStore(redis.url, "newer");
    for (const work of [() => late.get("a"), () => late.list(""), () => late.ping(), () => put(late, "3")])
      await expect(work()).rejects.toThrow(FormatTooNew);
    expect(await raw.hget("newer:r:a", "d")).toBe("1");
    const never = join(tmpdir(), `never-${process.pid}.backup`);
    const { code, stderr } = await deckshelf(["backup", never], { env: { REDIS_URL: redis.url } });
    expect(code).toBe(0);
    expect(stderr).toBe("");
    await rm(never);
    await raw.set("deckshelf:format", "99");
    const refused = await deckshelf(["backup", never], { env: { REDIS_URL: redis.url } });
    expect(refused.code).toBe(2);
    expect(refused.stderr).toMatch(/newer program/);
    // Neither the file nor the part of it that was begun.
    expect((await readdir(tmpdir())).filter((name) => name.startsWith(`never-${process.pid}.`))).toEqual([]);
    for (const main of ["api-main", "worker-main"]) {
      const program = startProcess([`dist/services/${main}.js`], { REDIS_URL: redis.url, PORT: "0" });
      expect(await program.ended).toBe(2);
      expect(program.output()).toMatch(/^the store was written by a newer program/m);
    }
    await Promise.all([running.close(), late.close()]);
  });

  it("goes up step by step, each step whole or not at all, once however many do it", async () => {
    await raw.set("steps:count", 0);
    const add = (n: number): string => `redis.call('INCRBY', ARGV[1] .. 'count', ${n})`;
    const others = Array.from({ length: 4 }, () => new Redis(redis.url));
    await Promise.all(others.map((one) => migrateRedis(one, "steps:", ["", add(10)])));
    expect([await raw.get("steps:format"), await raw.get("steps:count")]).toEqual(["2", "10"]);
    await expect(migrateRedis(raw, "steps:", ["", add(10), "error('no')"])).rejects.toThrow();
    expect([await raw.get("steps:format"), await raw.get("steps:count")]).toEqual(["2", "10"]);
    await Promise.all(others.map((one) => migrateRedis(one, "steps:", ["", add(10), add(100), add(1000)])));
    expect([await raw.get("steps:format"), await raw.get("steps:count")]).toEqual(["4", "1110"]);
    for (const one of others) one.disconnect();
  });
});
