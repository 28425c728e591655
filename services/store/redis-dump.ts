import type { Redis } from "ioredis";
import { FILLING, REDIS_FORMAT } from "./redis-format.js";
import { LIST } from "./redis-list.js";
import { type Dump, type Dumped, StoreNotEmpty } from "./store.js";

/** Records may be large: so few at a time. */
const PAGE = 16;
const BATCH_BYTES = 1024 * 1024;
const WIPED_AT_ONCE = 500;

/** ARGV: namespace, since which revision. Answers the revision, then of every record key, revision, and its value if it was written since. All of one moment. */
const SINCE = `
local ns, since = ARGV[1], tonumber(ARGV[2])
local found = { redis.call('GET', ns .. 'revision') or '0' }
for _, key in ipairs(redis.call('ZRANGE', ns .. 'keys', 0, -1)) do
  local revision = redis.call('HGET', ns .. 'r:' .. key, 'v')
  found[#found + 1] = key
  found[#found + 1] = revision
  found[#found + 1] = tonumber(revision) > since and redis.call('HGET', ns .. 'r:' .. key, 'd') or ''
end
return found`;

/**
 * Everything of one moment, without holding Redis up: first page by page while others write, then in one look what they wrote or took away meanwhile. What comes later
 * of a key counts.
 */
export async function dumpRedis(
  redis: Redis,
  namespace: string,
  take: (some: readonly Dumped[]) => Promise<void>,
): Promise<Dump> {
  const since = (await redis.get(`${namespace}revision`)) ?? "0";
  const seen = new Map<string, string>();
  let from = "-";
  for (;;) {
    const flat = (await redis.eval(LIST, 0, namespace, from, "+", PAGE, "")) as string[];
    const page = tripled(flat);
    for (const [key, revision] of page) seen.set(key, revision);
    if (page.length > 0) await take(page.map(([key, revision, value]) => ({ key, revision: Number(revision), value })));
    if (page.length < PAGE) break;
    from = `(${page.at(-1)![0]}`;
  }
  const [revision, ...flat] = (await redis.eval(SINCE, 0, namespace, since)) as [string, ...string[]];
  const now = tripled(flat);
  const news = now.filter(([key, of]) => seen.get(key) !== of);
  for (const [key] of now) seen.delete(key);
  const later: Dumped[] = [
    ...news.map(([key, of, value]) => ({ key, revision: Number(of), value })),
    ...[...seen.keys()].map((key) => ({ key, gone: true as const })),
  ];
  if (later.length > 0) await take(later);
  return { revision: Number(revision), records: now.length };
}

function tripled(flat: readonly string[]): [key: string, revision: string, value: string][] {
  return Array.from({ length: flat.length / 3 }, (_, i) => [flat[3 * i]!, flat[3 * i + 1]!, flat[3 * i + 2]!]);
}

/** ARGV: namespace, the mark of a store that is being filled. Sets it if there are no records; those of a filling that was broken off do not count. */
const BEGIN = `
local ns = ARGV[1]
if redis.call('GET', ns .. 'format') == ARGV[2] then return 2 end
if redis.call('ZCARD', ns .. 'keys') > 0 then return 0 end
redis.call('SET', ns .. 'format', ARGV[2])
return 1`;

/** Fills an empty store. Until it is whole nobody can use it; broken off, it is begun again with the next. */
export async function loadRedis(
  redis: Redis,
  namespace: string,
  dumped: AsyncIterable<Dumped>,
  revision: number,
): Promise<void> {
  const keys = `${namespace}keys`;
  const record = (key: string): string => `${namespace}r:${key}`;
  const found = await redis.eval(BEGIN, 0, namespace, FILLING);
  if (found === 0) throw new StoreNotEmpty("the store has records already");
  if (found === 2) {
    for (;;) {
      const some = await redis.zrange(keys, "0", String(WIPED_AT_ONCE - 1));
      if (some.length === 0) break;
      await redis
        .multi()
        .del(some.map(record))
        .zrem(keys, ...some)
        .exec();
    }
  }
  let batch = redis.multi();
  let bytes = 0;
  for await (const one of dumped) {
    if ("gone" in one) batch.del(record(one.key)).zrem(keys, one.key);
    else batch.hset(record(one.key), "v", one.revision, "d", one.value).zadd(keys, 0, one.key);
    bytes += one.key.length + ("gone" in one ? 0 : one.value.length);
    if (bytes < BATCH_BYTES) continue;
    await batch.exec();
    batch = redis.multi();
    bytes = 0;
  }
  await batch.set(`${namespace}revision`, revision).set(`${namespace}format`, REDIS_FORMAT).exec();
}
