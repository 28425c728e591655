import type { Consumer, Queue, QueueMessage } from "./queue.js";

/** A queue inside one process: lost with it, which is no harm because waiting jobs stand in the store. */
export class LocalQueue implements Queue {
  private readonly waiting: QueueMessage[] = [];
  private readonly tickets = new Set<string>();
  private readonly consumers = new Set<LocalConsumer>();

  async push(message: QueueMessage): Promise<void> {
    if (this.tickets.has(message.ticket)) return;
    this.tickets.add(message.ticket);
    // Stable: behind all of the same rank.
    let at = this.waiting.length;
    while (at > 0 && this.waiting[at - 1]!.rank > message.rank) at--;
    this.waiting.splice(at, 0, message);
    for (const consumer of this.consumers) consumer.wake();
  }

  consume(handler: (message: QueueMessage) => Promise<void>, concurrency: number): Consumer {
    const consumer = new LocalConsumer(this, handler, concurrency);
    this.consumers.add(consumer);
    consumer.wake();
    return consumer;
  }

  async depth(): Promise<number> {
    return this.waiting.length;
  }

  async ping(): Promise<void> {}

  async close(): Promise<void> {
    await Promise.all([...this.consumers].map((consumer) => consumer.close()));
  }

  /** For consumers: the next message. */
  take(): QueueMessage | undefined {
    const message = this.waiting.shift();
    if (message) this.tickets.delete(message.ticket);
    return message;
  }

  forget(consumer: LocalConsumer): void {
    this.consumers.delete(consumer);
  }
}

class LocalConsumer implements Consumer {
  private readonly inHand = new Set<Promise<void>>();
  private closed = false;

  constructor(
    private readonly queue: LocalQueue,
    private readonly handler: (message: QueueMessage) => Promise<void>,
    private readonly concurrency: number,
  ) {}

  wake(): void {
    while (!this.closed && this.inHand.size < this.concurrency) {
      const message = this.queue.take();
      if (!message) return;
      const work = Promise.resolve()
        .then(() => this.handler(message))
        .catch(() => undefined)
        .finally(() => {
          this.inHand.delete(work);
          this.wake();
        });
      this.inHand.add(work);
    }
  }

  async close(): Promise<void> {
    this.closed = true;
    this.queue.forget(this);
    await Promise.all(this.inHand);
  }
}
