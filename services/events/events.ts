import { EventEmitter } from "node:events";

/** Live news for whoever listens: may be lost (the store has the truth), so listeners also look at the store now and then. */
export interface Events {
  publish(channel: string, message: unknown): void;
  /** Calls back with each message; the returned function ends it. */
  subscribe(channel: string, listener: (message: unknown) => void): () => void;
  close(): Promise<void>;
}

/** Channels: `job:<id>` for progress, `stop:<id>` for signals to the worker, `day:<id>` for changes of a day. */
export class LocalEvents implements Events {
  private readonly emitter = new EventEmitter().setMaxListeners(0);

  publish(channel: string, message: unknown): void {
    this.emitter.emit(channel, message);
  }

  subscribe(channel: string, listener: (message: unknown) => void): () => void {
    this.emitter.on(channel, listener);
    return () => this.emitter.off(channel, listener);
  }

  async close(): Promise<void> {
    this.emitter.removeAllListeners();
  }
}
