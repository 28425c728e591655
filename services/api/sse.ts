import type { Response } from "express";

const HEARTBEAT_MS = 15_000;
/** A reader that takes nothing for so long is cut off. */
const STUCK_MS = 60_000;

/**
 * One stream of server-sent events. While the reader is behind, events that may be missed are replaced by newer ones of their name instead of piling up in
 * memory; those that must arrive wait.
 */
export class EventStream {
  private readonly heartbeat: NodeJS.Timeout;
  private readonly latest = new Map<string, string>();
  private readonly owed: string[] = [];
  private blocked = false;
  private stuck: NodeJS.Timeout | undefined;
  private ended = false;

  constructor(
    private readonly response: Response,
    onClose: () => void,
  ) {
    response.status(200);
    response.setHeader("Content-Type", "text/event-stream; charset=utf-8");
    response.setHeader("Cache-Control", "no-store");
    response.setHeader("X-Accel-Buffering", "no");
    response.flushHeaders();
    this.heartbeat = setInterval(() => {
      if (!this.blocked) this.write(": still here\n\n");
    }, HEARTBEAT_MS);
    response.on("drain", () => this.flow());
    response.on("close", () => {
      this.stop();
      onClose();
    });
  }

  /** An event; with `mayMiss` only the newest of its name is kept while the reader is behind. */
  send(name: string, data: unknown, mayMiss = false): void {
    if (this.ended) return;
    const text = `event: ${name}\ndata: ${JSON.stringify(data)}\n\n`;
    if (!this.blocked) this.write(text);
    else if (mayMiss) this.latest.set(name, text);
    else this.owed.push(text);
  }

  end(): void {
    if (this.ended) return;
    this.ended = true;
    if (!this.blocked) this.response.end();
  }

  private write(text: string): void {
    if (this.response.write(text)) return;
    this.blocked = true;
    this.stuck ??= setTimeout(() => this.response.destroy(), STUCK_MS);
  }

  private flow(): void {
    this.blocked = false;
    clearTimeout(this.stuck);
    this.stuck = undefined;
    while (!this.blocked && this.owed.length > 0) this.write(this.owed.shift()!);
    for (const [name, text] of this.latest) {
      if (this.blocked) break;
      this.latest.delete(name);
      this.write(text);
    }
    if (this.ended && !this.blocked && this.owed.length === 0) this.response.end();
  }

  private stop(): void {
    this.ended = true;
    clearInterval(this.heartbeat);
    clearTimeout(this.stuck);
  }
}
