import type { Request, Response } from "express";
import { Problem } from "../problem.js";

/** Room for bodies in this process: how much of them may be in hand at a time, however many send. */
export class BodyRoom {
  private held = 0;

  constructor(
    private readonly mostBytes: number,
    private readonly mostOfOne: number,
  ) {}

  /** Takes room for a body until its request is answered; a problem when there is none. */
  take(request: Request, response: Response): void {
    const said = Number(request.headers["content-length"]);
    // Of what comes in pieces or packed the length is not known before.
    const isKnown = Number.isFinite(said) && request.headers["content-encoding"] === undefined;
    const bytes = isKnown ? Math.min(said, this.mostOfOne) : this.mostOfOne;
    if (this.held > 0 && this.held + bytes > this.mostBytes)
      throw new Problem("unavailable", "Too much is being sent here just now.", {}, { "Retry-After": "2" });
    this.held += bytes;
    response.once("close", () => {
      this.held -= bytes;
    });
  }
}
