import type { Request, Response } from "express";
import { Problem } from "../problem.js";
import { saidBytes } from "./body-reader.js";

/** Room for bodies in this process: how much of them may be in hand at a time, however many send. */
export class BodyRoom {
  private held = 0;

  constructor(
    private readonly mostBytes: number,
    private readonly mostOfOne: number,
  ) {}

  /** Takes room for a body until its request is answered; a problem when there is none. */
  take(request: Request, response: Response): void {
    // Of what comes in pieces or packed the length is not known before.
    const bytes = Math.min(saidBytes(request) ?? this.mostOfOne, this.mostOfOne);
    if (this.held > 0 && this.held + bytes > this.mostBytes)
      throw new Problem("unavailable", "Too much is being sent here just now.", {}, { "Retry-After": "2" });
    this.held += bytes;
    response.once("close", () => {
      this.held -= bytes;
    });
  }
}
