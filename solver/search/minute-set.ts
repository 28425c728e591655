import type { Rng } from "../rng.js";

/** A set of minutes as sorted stretches, both ends included, that neither touch nor overlap. */
export class MinuteSet {
  count = 0;
  readonly from: Int32Array;
  readonly to: Int32Array;

  constructor(horizon: number) {
    const most = (horizon >> 1) + 2;
    this.from = new Int32Array(most);
    this.to = new Int32Array(most);
  }

  clear(): void {
    this.count = 0;
  }

  /** First minute; the set must not be empty. */
  get first(): number {
    return this.from[0]!;
  }

  /** Last minute; the set must not be empty. */
  get last(): number {
    return this.to[this.count - 1]!;
  }

  /** Adds from..to (nothing when from > to); cheapest when it comes after all that is there. */
  add(from: number, to: number): void {
    if (from > to) return;
    const { count } = this;
    if (count === 0 || from > this.to[count - 1]! + 1) {
      this.from[count] = from;
      this.to[count] = to;
      this.count = count + 1;
    } else if (from >= this.from[count - 1]!) {
      if (to > this.to[count - 1]!) this.to[count - 1] = to;
    } else this.merge(from, to);
  }

  /** The last minute that is not after `minute`, or -1. */
  atOrBefore(minute: number): number {
    let n = this.count - 1;
    while (n >= 0 && this.from[n]! > minute) n--;
    return n < 0 ? -1 : Math.min(this.to[n]!, minute);
  }

  /** The first minute that is not before `minute`, or -1. */
  atOrAfter(minute: number): number {
    let n = 0;
    while (n < this.count && this.to[n]! < minute) n++;
    return n === this.count ? -1 : Math.max(this.from[n]!, minute);
  }

  /** One of the minutes in [low, high], by chance, or -1. */
  pick(low: number, high: number, rng: Rng): number {
    let minutes = 0;
    for (let n = 0; n < this.count; n++)
      minutes += Math.max(0, Math.min(this.to[n]!, high) - Math.max(this.from[n]!, low) + 1);
    if (minutes === 0) return -1;
    let ticket = rng.below(minutes);
    for (let n = 0; ; n++) {
      const from = Math.max(this.from[n]!, low);
      const within = Math.max(0, Math.min(this.to[n]!, high) - from + 1);
      if (ticket < within) return from + ticket;
      ticket -= within;
    }
  }

  /** The first or last minute of one of the stretches, cut to [low, high], by chance, or -1. */
  pickEdge(low: number, high: number, rng: Rng): number {
    let first = 0;
    while (first < this.count && this.to[first]! < low) first++;
    let last = this.count - 1;
    while (last >= 0 && this.from[last]! > high) last--;
    if (first > last) return -1;
    const n = first + rng.below(last - first + 1);
    return rng.below(2) === 0 ? Math.max(this.from[n]!, low) : Math.min(this.to[n]!, high);
  }

  private merge(from: number, to: number): void {
    let low = 0;
    while (this.to[low]! < from - 1) low++;
    let high = low;
    while (high < this.count && this.from[high]! <= to + 1) high++;
    if (high === low) {
      this.from.copyWithin(low + 1, low, this.count);
      this.to.copyWithin(low + 1, low, this.count);
      this.from[low] = from;
      this.to[low] = to;
      this.count++;
      return;
    }
    this.from[low] = Math.min(this.from[low]!, from);
    this.to[low] = Math.max(this.to[high - 1]!, to);
    this.from.copyWithin(low + 1, high, this.count);
    this.to.copyWithin(low + 1, high, this.count);
    this.count -= high - low - 1;
  }
}
