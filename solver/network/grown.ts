/** Pieces of a line at a multiple: whole, and never fewer than the multiple says. */
export function grown(pieces: number, multiple: number): number {
  return Math.ceil(pieces * multiple - 1e-9);
}
