import type { SearchModel } from "./model.js";

/**
 * A number by which searches tell whether they have one model, with the same rows, batches, loads and modes in the same order: a change means nothing in another. (What loads there
 * are is chosen by linear programs with a limit of time, so on a machine that stands still two threads might differ.) FNV-1a over the numbers, 31 bits.
 */
export function markOf({ horizon, rowCount, batches, loads }: SearchModel): number {
  let hash = 0x811c9dc5;
  const add = (value: number): void => {
    hash = Math.imul(hash ^ value, 0x01000193);
  };
  add(horizon);
  add(rowCount);
  for (const { options } of batches) {
    add(options.length);
    for (const { row, minutes, from, to } of options) [row, minutes, from, to].forEach(add);
  }
  for (const { batch, dropCost, modes } of loads) {
    [batch, dropCost, modes.length].forEach(add);
    for (const { site, trip, finishBy, anchor, operations } of modes) {
      [site, trip, finishBy, anchor, operations.length].forEach(add);
      for (const { alternatives } of operations)
        for (const { row, amount, minutes } of alternatives) [row, amount, minutes].forEach(add);
    }
  }
  return hash >>> 1;
}
