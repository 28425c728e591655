import { randomBytes } from "node:crypto";
import { Redis } from "ioredis";
import { dumpRedis, loadRedis } from "./redis-dump.js";
import { migrateRedis, REDIS_FORMAT } from "./redis-format.js";
import { LIST } from "./redis-list.js";
import { Replicas } from "./redis-replicas.js";
import {
  type Commit,
  type CommitResult,
  type Dump,
  type Dumped,
  FormatTooNew,
  HalfRestored,
  type ListOptions,
  prefixEnd,
  type Store,
  type StoredRecord,
  StoreNotEmpty,
  StoreUnavailable,
} from "./store.js";

/**
 * ARGV: namespace, commit id, seconds to remember it, counts of checks, puts and deletes, the format; then key and revision of each check, key and value of
 * each put, key of each delete. Answers the new revision, or "x" and the key whose check failed, or "f" and the format when it is another. The commit id makes a commit that is sent again over a
 * broken line answer what it answered first; that it is remembered anew is a write, which replicas can be waited for again.
 */
const COMMIT = `
local ns, id = ARGV[1], ARGV[2]
local memo = ns .. 'c:' .. id
local before = redis.call('GET', memo)
if before then
  redis.call('EXPIRE', memo, ARGV[3])
  return before
end
local format = redis.call('GET', ns .. 'format')
if format ~= ARGV[7] then return 'f' .. (format or '') end
local at = 8
for _ = 1, tonumber(ARGV[4]) do
  local have = redis.call('HGET', ns .. 'r:' .. ARGV[at], 'v') or '0'
  if have ~= ARGV[at + 1] then return 'x' .. ARGV[at] end
  at = at + 2
end
local revision = string.format('%d', redis.call('INCR', ns .. 'revision'))
for _ = 1, tonumber(ARGV[5]) do
  redis.call('HSET', ns .. 'r:' .. ARGV[at], 'v', revision, 'd', ARGV[at + 1])
  redis.call('ZADD', ns .. 'keys', 0, ARGV[at])
  at = at + 2
end
for _ = 1, tonumber(ARGV[6]) do
  redis.call('DEL', ns .. 'r:' .. ARGV[at])
  redis.call('ZREM', ns .. 'keys', ARGV[at])
  at = at + 1
end
redis.call('SET', memo, revision, 'EX', ARGV[3])
return revision`;

interface Scripts {
  dsCommit(...args: (string | number)[]): Promise<string>;
  dsList(...args: (string | number)[]): Promise<string[]>;
}

const MEMORY_S = 600;
const COMMAND_MS = 2000;
const MOST_SENDS = 3;
const PATIENT_MS = 60_000;

export const REDIS_OPTIONS = {
  connectTimeout: 2000,
  keepAlive: 5000,
  retryStrategy: (times: number) => Math.min(50 * times, 1000),
} as const;

/** The store on Redis: durable when the server appends to a file and syncs it before it answers (appendonly yes, appendfsync always). */
export class RedisStore implements Store {
  private readonly redis: Redis & Scripts;
  /** Of its own where replicas are waited for, so that nothing that is read waits with it. */
  private readonly writes: Redis & Scripts;
  private readonly replicas: Replicas;
  private readonly namespace: string;
  /** Resolved once the records are known to be of this program's format. */
  private opened: Promise<void> | undefined;

  constructor(
    private readonly url: string,
    namespace = "deckshelf",
    private readonly wantedReplicas = 0,
  ) {
    this.namespace = `${namespace}:`;
    this.redis = this.connect();
    this.writes = wantedReplicas === 0 ? this.redis : this.connect();
    this.replicas = new Replicas(this.writes, wantedReplicas);
  }

  async get(key: string): Promise<StoredRecord | undefined> {
    const [revision, value] = await this.guarded(() => this.redis.hmget(`${this.namespace}r:${key}`, "v", "d"));
    return toRecord(key, revision, value);
  }

  async getMany(keys: readonly string[]): Promise<(StoredRecord | undefined)[]> {
    if (keys.length === 0) return [];
    const pipeline = this.redis.pipeline();
    for (const key of keys) pipeline.hmget(`${this.namespace}r:${key}`, "v", "d");
    const replies = await this.guarded(() => pipeline.exec());
    return (replies ?? []).map(([error, reply], i) => {
      if (error) throw outside(error);
      const [revision, value] = reply as (string | null)[];
      return toRecord(keys[i]!, revision, value);
    });
  }

  async list(prefix: string, options: ListOptions = {}): Promise<StoredRecord[]> {
    const { after, limit = 1000, backwards = false } = options;
    const from = after !== undefined && !backwards ? `(${after}` : `[${prefix}`;
    const to = `(${after !== undefined && backwards ? after : prefixEnd(prefix)}`;
    const flat = await this.guarded(() => this.redis.dsList(this.namespace, from, to, limit, backwards ? "1" : "0"));
    return recordsOf(flat);
  }

  async count(prefix: string): Promise<number> {
    return this.guarded(() => this.redis.zlexcount(`${this.namespace}keys`, `[${prefix}`, `(${prefixEnd(prefix)}`));
  }

  async commit(commit: Commit): Promise<CommitResult> {
    const id = randomBytes(12).toString("hex");
    const { checks, puts, deletes } = commit;
    const args = [
      ...[this.namespace, id, MEMORY_S, checks.length, puts.length, deletes.length, REDIS_FORMAT],
      ...checks.flatMap(({ key, revision }) => [key, revision]),
      ...puts.flatMap(({ key, value }) => [key, value]),
      ...deletes,
    ];
    for (let sends = 1; ; sends++) {
      try {
        const answer = await this.guarded(() => this.replicas.sure(() => this.writes.dsCommit(...args)));
        // A newer program brought the records up to date while this one ran; or they were never marked, or all of Redis is empty.
        if (answer.startsWith("f")) {
          await this.open(true);
          continue;
        }
        return answer.startsWith("x") ? { conflict: answer.slice(1) } : { revision: Number(answer) };
      } catch (error) {
        // Whether it was done is not known; its id makes asking again safe.
        if (!(error instanceof StoreUnavailable) || sends >= MOST_SENDS) throw error;
      }
    }
  }

  async dump(take: (some: readonly Dumped[]) => Promise<void>): Promise<Dump> {
    await this.guarded(async () => undefined);
    return this.patiently((redis) => dumpRedis(redis, this.namespace, take));
  }

  async load(dumped: AsyncIterable<Dumped>, revision: number): Promise<void> {
    await this.patiently((redis) => loadRedis(redis, this.namespace, dumped, revision));
    this.opened = undefined;
    await this.sure();
  }

  async ping(): Promise<void> {
    const write = (): Promise<unknown> => this.writes.set(`${this.namespace}ping`, "1", "EX", 60);
    await this.guarded(() => this.replicas.sure(write));
  }

  async sure(): Promise<void> {
    if (this.wantedReplicas > 0) await this.ping();
  }

  /** What would lose data: to be told at the start. */
  async dangers(): Promise<string[]> {
    const [append, fsync, policy, roles] = await this.guarded(async () => {
      const read = async (name: string): Promise<string> =>
        ((await this.redis.config("GET", name)) as string[])[1] ?? "";
      return [
        await read("appendonly"),
        await read("appendfsync"),
        await read("maxmemory-policy"),
        await this.redis.info("replication"),
      ];
    });
    return [
      append === "yes" ? "" : "appendonly is off: a restart of Redis loses everything since its last snapshot",
      fsync === "always" ? "" : `appendfsync is ${fsync}: a power cut loses what was not synced yet`,
      policy === "noeviction" ? "" : `maxmemory-policy is ${policy}: Redis may throw records away`,
      this.wantedReplicas > 0 || /^connected_slaves:0\b/m.test(roles ?? "")
        ? ""
        : "Redis has replicas, and DECKSHELF_REDIS_REPLICAS is 0: when one takes over, what was accepted last may be missing",
    ].filter((danger) => danger !== "");
  }

  async close(): Promise<void> {
    this.redis.disconnect();
    this.writes.disconnect();
  }

  private connect(): Redis & Scripts {
    const redis = new Redis(this.url, { ...REDIS_OPTIONS, maxRetriesPerRequest: 3, commandTimeout: COMMAND_MS });
    redis.on("error", () => undefined);
    redis.defineCommand("dsCommit", { numberOfKeys: 0, lua: COMMIT });
    redis.defineCommand("dsList", { numberOfKeys: 0, lua: LIST });
    return redis as Redis & Scripts;
  }

  /** With a connection that waits longer: for what goes over all records. */
  private async patiently<T>(work: (redis: Redis) => Promise<T>): Promise<T> {
    const redis = new Redis(this.url, { ...REDIS_OPTIONS, maxRetriesPerRequest: 3, commandTimeout: PATIENT_MS });
    redis.on("error", () => undefined);
    try {
      return await work(redis);
    } catch (error) {
      throw outside(error);
    } finally {
      redis.disconnect();
    }
  }

  private open(again = false): Promise<void> {
    if (again) this.opened = undefined;
    this.opened ??= migrateRedis(this.redis, this.namespace).catch((error: unknown) => {
      this.opened = undefined;
      throw error;
    });
    return this.opened;
  }

  private async guarded<T>(work: () => Promise<T>): Promise<T> {
    try {
      await this.open();
      return await work();
    } catch (error) {
      throw outside(error);
    }
  }
}

/** Anything that Redis or the line to it cannot do now. A script's own mistake stays what it is. */
function outside(error: unknown): unknown {
  if (error instanceof FormatTooNew || error instanceof HalfRestored || error instanceof StoreNotEmpty) return error;
  const message = error instanceof Error ? error.message : String(error);
  if (/user_script|ERR wrong|WRONGTYPE|Error compiling/.test(message) && !/OOM|MISCONF|READONLY/.test(message))
    return error;
  return new StoreUnavailable(`Redis: ${message}`, { cause: error });
}

function recordsOf(flat: readonly string[]): StoredRecord[] {
  return Array.from({ length: flat.length / 3 }, (_, i) => toRecord(flat[3 * i]!, flat[3 * i + 1], flat[3 * i + 2])!);
}

function toRecord(
  key: string,
  revision: string | null | undefined,
  value: string | null | undefined,
): StoredRecord | undefined {
  return revision == null || value == null ? undefined : { key, revision: Number(revision), value };
}
