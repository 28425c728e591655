import type { CrewNeed, Hold, Mode, SearchModel } from "./model.js";

/** FNV-1a over whole numbers. */
class Hash {
  value = 0x811c9dc5;

  add(...numbers: readonly number[]): void {
    this.all(numbers);
  }

  all(numbers: ArrayLike<number>): void {
    for (let i = 0; i < numbers.length; i++) this.value = Math.imul(this.value ^ numbers[i]!, 0x01000193);
  }
}

function addCrew(hash: Hash, crew: CrewNeed | null): void {
  hash.add(crew?.heads ?? 0, crew?.minutes ?? 0);
  if (crew) hash.all(crew.rows);
}

function addHold(hash: Hash, { least, greatest, rows, amount, heatRows, heatAmount, heatMinutes, ride }: Hold): void {
  hash.add(least, greatest, amount, heatAmount, heatMinutes, ride?.leave ?? -1, ride?.arrive ?? -1);
  hash.all(rows);
  hash.all(heatRows);
}

function hashOfMode(mode: Mode): number {
  const hash = new Hash();
  const { site, trip, tripAmount, finishBy, deliveredAt, warmFrom, warmMinutes, anchor } = mode;
  hash.add(site, trip, tripAmount, finishBy, deliveredAt, warmFrom, warmMinutes, anchor, mode.operations.length);
  for (const hold of mode.holds) addHold(hash, hold);
  for (const { alternatives, crew, from, to } of mode.operations) {
    hash.add(from, to);
    for (const { row, amount, minutes } of alternatives) hash.add(row, amount, minutes);
    addCrew(hash, crew);
  }
  for (const { row, fromOperation, toOperation, amount } of mode.spans)
    hash.add(row, fromOperation, toOperation, amount);
  return hash.value;
}

function hashOfNumbers(numbers: ArrayLike<number>): number {
  const hash = new Hash();
  hash.all(numbers);
  return hash.value;
}

/** Worked out once for each object: loads share modes and tables. */
function once<T extends object>(hashOf: (of: T) => number): (of: T) => number {
  const known = new Map<T, number>();
  return (of) => {
    const found = known.get(of) ?? hashOf(of);
    known.set(of, found);
    return found;
  };
}

/**
 * A number by which searches tell whether they have one model, with the same rows, batches, loads and modes in the same order: a change means nothing in another. (What loads there
 * are is chosen by linear programs with a limit of time, so on a machine that stands still two threads might differ.) 31 bits.
 */
export function markOf({ horizon, capacity, conflicts, batches, loads }: SearchModel): number {
  const hash = new Hash();
  const modeHash = once(hashOfMode);
  const tableHash = once(hashOfNumbers);
  hash.add(horizon, hashOfNumbers(capacity));
  for (const rivals of conflicts) hash.add(tableHash(rivals));
  for (const { options } of batches) {
    hash.add(options.length);
    for (const { row, minutes, from, to, crew } of options) {
      hash.add(row, minutes, from, to);
      addCrew(hash, crew);
    }
  }
  for (const { batch, dropCost, lateCost, earlyCost, modes } of loads)
    hash.add(batch, dropCost, tableHash(lateCost), tableHash(earlyCost), modes.length, ...modes.map(modeHash));
  return hash.value >>> 1;
}
