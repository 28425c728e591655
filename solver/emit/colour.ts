import { createRng } from "../rng.js";

/** For a while a position is not to be had. */
export interface Span {
  readonly from: number;
  readonly to: number;
}

/** So many positions are wanted for a while. */
interface Wanting extends Span {
  readonly amount: number;
}

/**
 * Positions for each stay, in order of start, around those reserved by locks. The position whose next reservation comes soonest (and
 * late enough) is taken first, so that long stays find open ones; after that orders drawn at random. What finds no
 * position keeps too few, and the verifier says so.
 */
export function colour(
  stays: readonly Wanting[],
  reserved: readonly (readonly Span[])[],
  attempts: number,
): number[][] {
  const rng = createRng(1);
  const hasLocks = reserved.some(isLocked);
  const rank = new Float64Array(reserved.length);
  let best: { lacking: number; given: number[][] } | null = null;
  for (let attempt = 0; attempt < (hasLocks ? attempts : 1); attempt++) {
    const freeFrom = new Int32Array(reserved.length);
    let lacking = 0;
    const given: number[][] = [];
    for (const stay of stays) {
      const open: number[] = [];
      for (let p = 0; p < reserved.length; p++)
        if (freeFrom[p]! <= stay.from && !isTaken(reserved[p]!, stay)) open.push(p);
      if (hasLocks) {
        for (const p of open) rank[p] = attempt === 0 ? nextFrom(reserved[p]!, stay.to) : rng.unit();
        sortByRank(open, rank);
      }
      const chosen = open.slice(0, stay.amount);
      for (const p of chosen) freeFrom[p] = stay.to;
      lacking += stay.amount - chosen.length;
      given.push(ascending(chosen));
    }
    if (!best || lacking < best.lacking) best = { lacking, given };
    if (lacking === 0) break;
  }
  return best!.given;
}

function isLocked(list: readonly Span[]): boolean {
  return list.length > 0;
}

/** In place; of two with one rank the lower number comes first. A few numbers, that come ascending. */
function sortByRank(numbers: number[], rank: Float64Array): void {
  for (let i = 1; i < numbers.length; i++) {
    const p = numbers[i]!;
    let at = i;
    while (at > 0 && rank[numbers[at - 1]!]! > rank[p]!) {
      numbers[at] = numbers[at - 1]!;
      at--;
    }
    numbers[at] = p;
  }
}

function isTaken(reservations: readonly Span[], stay: Span): boolean {
  for (const other of reservations) if (other.from < stay.to && stay.from < other.to) return true;
  return false;
}

/** When the next reservation from a minute on begins. */
function nextFrom(reservations: readonly Span[], minute: number): number {
  let next = 1 << 29;
  for (const { from } of reservations) if (from >= minute && from < next) next = from;
  return next;
}

/** Sorts in place: a few numbers, mostly in order already. */
export function ascending(numbers: number[]): number[] {
  for (let i = 1; i < numbers.length; i++) if (numbers[i]! < numbers[i - 1]!) return numbers.sort(byNumber);
  return numbers;
}

function byNumber(a: number, b: number): number {
  return a - b;
}
