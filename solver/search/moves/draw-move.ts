import type { Rng } from "../../rng.js";
import type { Move } from "./move.js";

/** Moves and how often each is drawn. */
export type Moves = readonly (readonly [Move, number])[];

export function drawMove(moves: Moves, rng: Rng): Move {
  let total = 0;
  for (const [, weight] of moves) total += weight;
  let ticket = rng.below(total);
  for (const [move, weight] of moves) {
    ticket -= weight;
    if (ticket < 0) return move;
  }
  throw new RangeError("there are no moves to draw from");
}
