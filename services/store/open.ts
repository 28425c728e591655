import { join } from "node:path";
import type { Config } from "../operating/config.js";
import { RedisStore } from "./redis.js";
import { SqliteStore } from "./sqlite.js";
import type { Store } from "./store.js";

/** The store that the environment names: Redis when REDIS_URL is set, else the file in the data folder. */
export function openStore(config: Config): Store {
  return config.redisUrl === undefined
    ? new SqliteStore(join(config.dataFolder, "deckshelf.db"))
    : new RedisStore(config.redisUrl);
}
