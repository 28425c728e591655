import type { Redis } from "ioredis";
import { FormatTooNew, HalfRestored } from "./store.js";

/**
 * Each takes the records from its index to the next, as a script of Redis: ARGV[1] is the namespace with its colon. Format 1 is what the first release wrote, before
 * records had a mark. Never edit one that was released: add.
 */
const MIGRATIONS: readonly string[] = [""];

/** The format that this program reads and writes. */
export const REDIS_FORMAT = MIGRATIONS.length;

/** In place of a format while a backup is put back: of half a store nothing is read or written. */
export const FILLING = "filling";

/** ARGV: namespace, the format that the step begins with ("" when there is no mark), the one that it makes. Whole or not at all; answers what holds now. */
const step = (script: string): string => `
local before = redis.call('GET', ARGV[1] .. 'format') or ''
if before ~= ARGV[2] then return before end
${script}
redis.call('SET', ARGV[1] .. 'format', ARGV[3])
return ARGV[3]`;

/** Brings the records of a namespace up to date; several may do it at once. Records of a newer program are refused. */
export async function migrateRedis(
  redis: Redis,
  namespace: string,
  migrations: readonly string[] = MIGRATIONS,
): Promise<void> {
  for (;;) {
    const mark = (await redis.get(`${namespace}format`)) ?? "";
    if (mark === FILLING) throw new HalfRestored();
    const format = mark === "" ? 0 : Number(mark);
    if (format === migrations.length) return;
    if (!(format < migrations.length)) throw new FormatTooNew(mark, migrations.length);
    await redis.eval(step(migrations[format]!), 0, namespace, mark, String(format + 1));
  }
}
