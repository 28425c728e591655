import { join } from "node:path";
import type { Config } from "../operating/config.js";
import { RedisStore } from "./redis.js";
import { SqliteStore } from "./sqlite.js";
import { FormatTooNew, type Store } from "./store.js";

/** The store that the environment names: Redis when REDIS_URL is set, else the file in the data folder. */
export function openStore(config: Config): Store {
  return config.redisUrl === undefined
    ? new SqliteStore(join(config.dataFolder, "deckshelf.db"))
    : new RedisStore(config.redisUrl, undefined, config.redisReplicas);
}

/** Throws when the store was written by a newer program. One that cannot be reached yet is asked again with its first use. */
export async function mustKnowFormat(store: Store): Promise<void> {
  await store.get("format").catch((error: unknown) => {
    if (error instanceof FormatTooNew) throw error;
  });
}
