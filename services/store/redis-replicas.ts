import type { Redis } from "ioredis";
import { StoreUnavailable } from "./store.js";

/** Replicas of one place have a write after a millisecond or two; much less than a command may take. */
const WAIT_MS = 500;
const MOST_TRIES = 3;

/**
 * What a primary was told may be unknown to the replica that takes over when it dies: replicas hear of it afterwards. So nothing counts as written before so many
 * of them have it.
 */
export class Replicas {
  private connections = 0;

  constructor(
    private readonly redis: Redis,
    private readonly wanted: number,
  ) {
    redis.on("connect", () => this.connections++);
  }

  /** Writes, and waits for the replicas. `write` may be done again and must then do no more than once. */
  async sure<T>(write: () => Promise<T>): Promise<T> {
    if (this.wanted === 0) return write();
    for (let tries = 1; ; tries++) {
      const before = this.connections;
      const value = await write();
      const have = await this.redis.wait(this.wanted, WAIT_MS);
      if (have < this.wanted)
        throw new StoreUnavailable(`Redis: ${have} of ${this.wanted} replicas have what was written`);
      // Redis waits for what this connection wrote; a new one has written nothing.
      if (this.connections === before) return value;
      if (tries === MOST_TRIES) throw new StoreUnavailable("Redis: the line breaks again and again");
    }
  }
}
