/**
 * Transport only: carries job ids to workers, at least once, roughly in order of rank. What a job is and whether it is done stands in the store;
 * a message that comes twice or for a finished job is dropped by the worker.
 */
export interface QueueMessage {
  readonly job: string;
  /** The same ticket is not put on the queue twice while it waits there. */
  readonly ticket: string;
  /** From 1; lower goes first. */
  readonly rank: number;
}

export interface Queue {
  push(message: QueueMessage): Promise<void>;
  /** Calls the handler for each message, so many at a time. A handler that rejects loses the message; the sweeper brings the job back. */
  consume(handler: (message: QueueMessage) => Promise<void>, concurrency: number): Consumer;
  /** Messages that wait. */
  depth(): Promise<number>;
  ping(): Promise<void>;
  close(): Promise<void>;
}

export interface Consumer {
  /** Takes no more messages; resolves when those in hand are done. */
  close(): Promise<void>;
}
