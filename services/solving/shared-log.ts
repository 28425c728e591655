import type { ChangeLog } from "../../solver/index.js";

/** Words of the ring unless told otherwise, a power of two: some thousand changes, or the whole plan of some thousand loads. */
const RING = 1 << 20;
/** Searches that can share one log. */
const MOST = 8;
/** Those that have used up shares of their budgets that differ by more than this search apart: they would be at other temperatures. */
const FAR = 0.1;
/** Whoever is at it looks at the log between two tries. */
const WELCOME_MS = 300;
/** Who has not read for so long, though others wait for room, is given up: its thread may have ended. So is a log that somebody adds to for so long. */
const STALL_MS = 500;

/* Words before the ring. */
const LOCK = 0;
/** Words added so far, modulo 2^32. */
const HEAD = 1;
const IS_PLAN_ASKED = 2;
const MARK = 3;
/** Searches that have come in so far. */
const TICKETS = 4;
/** Of them, how many have been given the plan of others. */
const WELCOMED = 5;
/** Of each search [its ticket, words read, progress in thousandths]. */
const SEATS = 6;
const SEAT = 3;
const HEADER = SEATS + MOST * SEAT;

/** The ticket of nobody. */
const FREE = 0;

/** An entry is [length, kind, change]. */
const ENTRY = 2;
const A_CHANGE = 0;
const A_PLAN = 1;

/**
 * A log in memory that threads share. Adding is guarded by a flag that is held only while a change is copied; reading needs none. A search that is not there (any more)
 * is waited for by nobody; one that comes in late is given the whole plan; one that was given up finds itself alone and goes on so.
 */
export class SharedLog implements ChangeLog {
  private readonly words: Int32Array;
  private readonly ring: number;
  private seat = SEATS;
  private ticket = FREE;
  /** Words read. */
  private at = 0;
  private isOut = true;
  /** Whom there was no room for, how far it had read, and since when. */
  private slowSeat = SEATS;
  private slowAt = 0;
  private slowSince = Number.POSITIVE_INFINITY;
  /** What was read last; grows. */
  private change = new Int32Array(1024);
  private kind = A_CHANGE;

  constructor(
    readonly memory: SharedArrayBuffer = SharedLog.memory(),
    private readonly stallMs = STALL_MS,
  ) {
    this.words = new Int32Array(memory);
    this.ring = this.words.length - HEADER;
    if ((this.ring & (this.ring - 1)) !== 0) throw new RangeError("the ring of a log has a power of two of words");
  }

  static memory(ring = RING): SharedArrayBuffer {
    return new SharedArrayBuffer((HEADER + ring) * Int32Array.BYTES_PER_ELEMENT);
  }

  /** Searches that have come in so far, how many of them have been given the plan of others, and words added (modulo 2^32). */
  get counts(): { readonly searches: number; readonly welcomed: number; readonly words: number } {
    const count = (at: number): number => Atomics.load(this.words, at) >>> 0;
    return { searches: count(TICKETS), welcomed: count(WELCOMED), words: count(HEAD) };
  }

  join(progress: number, mark: number): "alone" | "welcome" | "apart" {
    const { words } = this;
    if (!this.lock(WELCOME_MS)) return "apart";
    try {
      const others = this.seats((taken) => words[taken] !== FREE);
      const isNear = (seat: number): boolean => Math.abs(words[seat + 2]! / 1000 - progress) <= FAR;
      const [seat] = this.seats((free) => words[free] === FREE);
      if (seat === undefined || !others.every(isNear) || (others.length > 0 && words[MARK] !== mark)) return "apart";
      words[MARK] = mark;
      this.seat = seat;
      this.at = words[HEAD]!;
      this.ticket = words[TICKETS]! + 1;
      this.isOut = false;
      words[TICKETS] = this.ticket;
      words[seat + 1] = this.at;
      words[seat + 2] = Math.floor(progress * 1000);
      Atomics.store(words, seat, this.ticket);
      Atomics.store(words, IS_PLAN_ASKED, others.length > 0 ? 1 : 0);
      return others.length > 0 ? "welcome" : "alone";
    } finally {
      this.unlock();
    }
  }

  welcome(): Int32Array | undefined {
    const until = performance.now() + WELCOME_MS;
    do {
      for (let change = this.next(); change; change = this.next()) {
        if (this.kind !== A_PLAN) continue;
        Atomics.add(this.words, WELCOMED, 1);
        return change;
      }
      Atomics.wait(this.words, HEAD, this.at, 1);
    } while (performance.now() < until);
    return undefined;
  }

  isPlanAsked(): boolean {
    return Atomics.load(this.words, IS_PLAN_ASKED) === 1 && this.isHere();
  }

  next(): Int32Array | undefined {
    const { words, ring } = this;
    if (Atomics.load(words, HEAD) === this.at || !this.isHere()) return undefined;
    const length = words[HEADER + (this.at & (ring - 1))]!;
    this.kind = words[HEADER + ((this.at + 1) & (ring - 1))]!;
    // Given up meanwhile, it may read anything.
    if (length < 0 || length > ring) return undefined;
    if (this.change.length < length) this.change = new Int32Array(2 * length);
    const { change } = this;
    const from = (this.at + ENTRY) & (ring - 1);
    const first = Math.min(length, ring - from);
    for (let i = 0; i < first; i++) change[i] = words[HEADER + from + i]!;
    for (let i = first; i < length; i++) change[i] = words[HEADER + i - first]!;
    if (!this.isHere()) return undefined;
    this.moveTo((this.at + ENTRY + length) | 0);
    return change;
  }

  add(change: Int32Array, length: number, isPlan: boolean): "added" | "behind" | "full" {
    const { words, ring } = this;
    if (!this.isHere()) return "added";
    if (Atomics.load(words, HEAD) !== this.at) return "behind";
    if (!this.lock(this.stallMs)) {
      this.leave();
      return "added";
    }
    try {
      if (!this.isHere()) return "added";
      if (Atomics.load(words, HEAD) !== this.at) return "behind";
      if (isPlan && length + ENTRY > ring) Atomics.store(words, IS_PLAN_ASKED, 0);
      if (!this.hasRoom(length + ENTRY)) return "full";
      words[HEADER + (this.at & (ring - 1))] = length;
      words[HEADER + ((this.at + 1) & (ring - 1))] = isPlan ? A_PLAN : A_CHANGE;
      const from = (this.at + ENTRY) & (ring - 1);
      const first = Math.min(length, ring - from);
      for (let i = 0; i < first; i++) words[HEADER + from + i] = change[i]!;
      for (let i = first; i < length; i++) words[HEADER + i - first] = change[i]!;
      this.moveTo((this.at + ENTRY + length) | 0);
      if (isPlan) Atomics.store(words, IS_PLAN_ASKED, 0);
      Atomics.store(words, HEAD, this.at);
      if (isPlan) Atomics.notify(words, HEAD);
      return "added";
    } finally {
      this.unlock();
    }
  }

  tell(progress: number): void {
    if (this.isHere()) Atomics.store(this.words, this.seat + 2, Math.floor(progress * 1000));
  }

  leave(): void {
    if (!this.isOut) Atomics.compareExchange(this.words, this.seat, this.ticket, FREE);
    this.isOut = true;
  }

  /** So far it has read; unless the seat is another's by now. */
  private moveTo(at: number): void {
    Atomics.compareExchange(this.words, this.seat + 1, this.at, at);
    this.at = at;
  }

  private isHere(): boolean {
    if (!this.isOut && Atomics.load(this.words, this.seat) !== this.ticket) this.isOut = true;
    return !this.isOut;
  }

  private seats(isWanted: (seat: number) => boolean): number[] {
    const found: number[] = [];
    for (let seat = SEATS; seat < HEADER; seat += SEAT) if (isWanted(seat)) found.push(seat);
    return found;
  }

  /** Is there room for so many words before what some other search has not read yet? Whoever stands still while there is none is given up. */
  private hasRoom(length: number): boolean {
    const { words, ring } = this;
    if (length > ring) return false;
    for (let seat = SEATS; seat < HEADER; seat += SEAT) {
      if (seat === this.seat || Atomics.load(words, seat) === FREE) continue;
      const at = Atomics.load(words, seat + 1);
      if (((this.at - at) | 0) + length <= ring) continue;
      if (seat !== this.slowSeat || at !== this.slowAt) {
        this.slowSeat = seat;
        this.slowAt = at;
        this.slowSince = performance.now();
      }
      if (performance.now() - this.slowSince < this.stallMs) return false;
      Atomics.store(words, seat, FREE);
    }
    return true;
  }

  private lock(waitMs: number): boolean {
    const { words } = this;
    if (Atomics.compareExchange(words, LOCK, 0, 1) === 0) return true;
    const until = performance.now() + waitMs;
    do {
      if (Atomics.compareExchange(words, LOCK, 0, 1) === 0) return true;
      Atomics.wait(words, LOCK, 1, 1);
    } while (performance.now() < until);
    return false;
  }

  private unlock(): void {
    Atomics.store(this.words, LOCK, 0);
    Atomics.notify(this.words, LOCK, 1);
  }
}
