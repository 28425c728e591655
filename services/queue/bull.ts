import { Queue as BullQueue, Worker as BullWorker, type ConnectionOptions } from "bullmq";
import { Redis } from "ioredis";
import { REDIS_OPTIONS } from "../store/redis.js";
import { StoreUnavailable } from "../store/store.js";
import type { Consumer, Queue, QueueMessage } from "./queue.js";

const NAME = "jobs";
/** BullMQ's greatest priority. */
const MOST_RANK = 2_097_151;
const PUSH_MS = 3000;
/** A message in the hands of a worker that died comes back after this; the store's leases decide whether it matters. */
const LOCK_MS = 15_000;
const STALLED_MS = 5000;
const MOST_STALLS = 20;

/** The queue between machines. BullMQ keeps the order, hands out, and takes back from the dead; what a message means stands in the store. */
export class BullJobQueue implements Queue {
  private readonly connection: Redis;
  private readonly queue: BullQueue;
  private readonly consumers = new Set<BullConsumer>();

  constructor(
    private readonly url: string,
    private readonly prefix = "deckshelf:queue",
  ) {
    this.connection = new Redis(url, { ...REDIS_OPTIONS, maxRetriesPerRequest: 3, commandTimeout: PUSH_MS });
    this.connection.on("error", () => undefined);
    this.queue = new BullQueue(NAME, { connection: this.connection as unknown as ConnectionOptions, prefix });
    this.queue.on("error", () => undefined);
  }

  async push(message: QueueMessage): Promise<void> {
    await this.guarded(() =>
      this.queue.add("job", message, {
        // A job in the queue has its ticket as its id, so the same ticket is not added twice.
        jobId: message.ticket,
        priority: Math.min(MOST_RANK, Math.max(1, message.rank)),
        removeOnComplete: true,
        removeOnFail: true,
      }),
    );
  }

  consume(handler: (message: QueueMessage) => Promise<void>, concurrency: number): Consumer {
    const consumer = new BullConsumer(this.url, this.prefix, handler, concurrency, () =>
      this.consumers.delete(consumer),
    );
    this.consumers.add(consumer);
    return consumer;
  }

  async depth(): Promise<number> {
    const counts = await this.guarded(() => this.queue.getJobCounts("wait", "prioritized"));
    return Object.values(counts).reduce((sum, count) => sum + count, 0);
  }

  async ping(): Promise<void> {
    await this.guarded(() => this.connection.ping());
  }

  async close(): Promise<void> {
    await Promise.all([...this.consumers].map((consumer) => consumer.close()));
    await this.queue.close().catch(() => undefined);
    this.connection.disconnect();
  }

  private async guarded<T>(work: () => Promise<T>): Promise<T> {
    try {
      return await work();
    } catch (error) {
      throw new StoreUnavailable(`the queue: ${error instanceof Error ? error.message : String(error)}`, {
        cause: error,
      });
    }
  }
}

class BullConsumer implements Consumer {
  private readonly worker: BullWorker;
  private readonly connection: Redis;

  constructor(
    url: string,
    prefix: string,
    handler: (message: QueueMessage) => Promise<void>,
    concurrency: number,
    private readonly onClosed: () => void,
  ) {
    this.connection = new Redis(url, { ...REDIS_OPTIONS, maxRetriesPerRequest: null });
    this.connection.on("error", () => undefined);
    this.worker = new BullWorker(NAME, async (job) => handler(job.data as QueueMessage), {
      connection: this.connection as unknown as ConnectionOptions,
      prefix,
      concurrency,
      lockDuration: LOCK_MS,
      stalledInterval: STALLED_MS,
      maxStalledCount: MOST_STALLS,
      removeOnComplete: { count: 0 },
      removeOnFail: { count: 0 },
    });
    this.worker.on("error", () => undefined);
  }

  async close(): Promise<void> {
    this.onClosed();
    await this.worker.close().catch(() => undefined);
    this.connection.disconnect();
  }
}
