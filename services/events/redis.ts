import { EventEmitter } from "node:events";
import { Redis } from "ioredis";
import { REDIS_OPTIONS } from "../store/redis.js";
import type { Events } from "./events.js";

/** News between processes by Redis's publish and subscribe: what is sent while a line is down is lost. */
export class RedisEvents implements Events {
  private readonly emitter = new EventEmitter().setMaxListeners(0);
  private readonly sender: Redis;
  private readonly receiver: Redis;
  private readonly prefix: string;

  constructor(url: string, namespace = "deckshelf") {
    this.prefix = `${namespace}:news:`;
    // News that cannot be sent now is no news later.
    this.sender = new Redis(url, { ...REDIS_OPTIONS, enableOfflineQueue: false, maxRetriesPerRequest: 0 });
    this.receiver = new Redis(url, { ...REDIS_OPTIONS, maxRetriesPerRequest: null, autoResubscribe: true });
    for (const redis of [this.sender, this.receiver]) redis.on("error", () => undefined);
    this.receiver.on("message", (channel: string, text: string) => {
      this.emitter.emit(channel.slice(this.prefix.length), JSON.parse(text));
    });
  }

  publish(channel: string, message: unknown): void {
    this.sender.publish(this.prefix + channel, JSON.stringify(message)).catch(() => undefined);
  }

  subscribe(channel: string, listener: (message: unknown) => void): () => void {
    const isFirst = this.emitter.listenerCount(channel) === 0;
    this.emitter.on(channel, listener);
    if (isFirst) this.receiver.subscribe(this.prefix + channel).catch(() => undefined);
    return () => {
      this.emitter.off(channel, listener);
      if (this.emitter.listenerCount(channel) === 0)
        this.receiver.unsubscribe(this.prefix + channel).catch(() => undefined);
    };
  }

  async close(): Promise<void> {
    this.emitter.removeAllListeners();
    this.sender.disconnect();
    this.receiver.disconnect();
  }
}
