import type { DayDocuments } from "../../schemas/index.js";

/**
 * A day on its way to a solver thread: documents by number, those that the thread has already without their content. So a day that is asked about again costs no copy,
 * and the thread finds again what it worked out for its documents.
 */
export interface Parcel {
  readonly documents: Readonly<Record<string, { readonly number: number; readonly content?: unknown }>>;
  /** Numbers that will not be named again. */
  readonly forget: readonly number[];
}

/** Documents that a thread keeps: two days, or one with some timetables and happenings that were. */
const MOST_KEPT = 12;

const numbers = new WeakMap<object, number>();
let lastNumber = 0;

function numberOf(document: object): number {
  let number = numbers.get(document);
  if (number === undefined) {
    number = ++lastNumber;
    numbers.set(document, number);
  }
  return number;
}

/** What one thread has been sent. */
export class Sent {
  /** By number, those named last at the end. */
  private readonly kept = new Set<number>();

  pack(day: DayDocuments): Parcel {
    const documents: Record<string, { number: number; content?: unknown }> = {};
    for (const [name, content] of Object.entries(day) as [string, object | undefined][]) {
      if (content === undefined) continue;
      const number = numberOf(content);
      documents[name] = this.kept.delete(number) ? { number } : { number, content };
      this.kept.add(number);
    }
    return { documents, forget: this.forgotten() };
  }

  private forgotten(): number[] {
    const forget: number[] = [];
    for (const number of this.kept) {
      if (this.kept.size <= MOST_KEPT) break;
      this.kept.delete(number);
      forget.push(number);
    }
    return forget;
  }
}

/** What a thread has received. */
export class Received {
  private readonly kept = new Map<number, unknown>();

  unpack({ documents, forget }: Parcel): DayDocuments {
    const day: Record<string, unknown> = {};
    for (const [name, { number, content }] of Object.entries(documents)) {
      if (content !== undefined) this.kept.set(number, content);
      else if (!this.kept.has(number)) throw new Error(`the ${name} of a day was never sent`);
      day[name] = this.kept.get(number);
    }
    for (const number of forget) this.kept.delete(number);
    return day as unknown as DayDocuments;
  }
}
