import type { Readable } from "node:stream";

/** What all bodies together may bring in one round of the loop: at a gigabyte a second some milliseconds. */
const ROUND_BYTES = 2 * 1024 * 1024;

/**
 * Of each socket that has something, the loop would read two megabytes a round: with many great bodies at once one round would be as long as all of them. So
 * whoever brings more than a round's share is read on in the next.
 */
export class Pace {
  private left = ROUND_BYTES;
  private readonly held: Readable[] = [];
  private isDue = false;

  /** Tells what came of a stream; holds it until the next round when that was enough for this one. */
  took(stream: Readable, bytes: number): void {
    this.left -= bytes;
    if (this.left <= 0) {
      stream.pause();
      this.held.push(stream);
    }
    if (this.isDue) return;
    this.isDue = true;
    setImmediate(() => {
      this.isDue = false;
      this.left = ROUND_BYTES;
      for (const one of this.held.splice(0)) one.resume();
    });
  }
}
