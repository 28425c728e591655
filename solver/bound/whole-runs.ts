import { type Entries, type Frame, NO_LOWER, push } from "./frame.js";

/** A group of loads, as the cuts see it: starts of its loads and runs of the heaters that take them, by step. */
interface Watched {
  readonly count: number;
  readonly starts: readonly Entries[];
  readonly going: readonly Entries[];
  readonly begun: readonly Entries[];
  readonly known: Set<string>;
}

/** A row that was added, in minutes: it can be taken over into a program of other steps. */
export interface WholeRunsRow {
  readonly watched: number;
  readonly from: number;
  readonly to: number;
}

/** A row is added when it is broken by more than this. */
const LEAST_BREACH = 0.02;

/**
 * Rows that ask for whole runs. A load that starts between two steps is on a run that goes on in the first of them or begins later, by the second: so the share
 * of a group that starts in between is no more than there are such runs. Of these rows (one for each group and pair of steps) only those are added that a point
 * breaks.
 */
export class WholeRuns {
  readonly rows: WholeRunsRow[] = [];
  private readonly watched: Watched[] = [];

  constructor(private readonly frame: Frame) {}

  watch(count: number, starts: readonly Entries[], runs: readonly { going: Entries[]; begun: Entries[] }[]): void {
    const going: Entries[] = [];
    const begun: Entries[] = [];
    for (const own of runs) {
      own.going.forEach((entries, s) => {
        for (const [column, value] of entries) push(going, s, column, value);
      });
      own.begun.forEach((entries, s) => {
        for (const [column, value] of entries) push(begun, s, column, value);
      });
    }
    this.watched.push({ count, starts, going, begun, known: new Set() });
  }

  /** Adds the rows that the point breaks most, so many for each group at most; says how many. */
  cut(point: Float64Array, perGroup: number): number {
    const before = this.rows.length;
    this.watched.forEach((group, watched) => {
      const broken = this.brokenBy(point, group).filter(({ key }) => !group.known.has(key));
      broken.sort((a, b) => b.breach - a.breach);
      const chosen: typeof broken = [];
      for (const row of broken) {
        if (chosen.length === perGroup) break;
        // One that lies much like a worse one would say the same.
        if (chosen.some((other) => Math.abs(other.first - row.first) + Math.abs(other.last - row.last) < 4)) continue;
        chosen.push(row);
      }
      for (const { first, last } of chosen) this.addRow(watched, first, last);
    });
    return this.rows.length - before;
  }

  /** Adds a row that a program of other steps had. */
  take({ watched, from, to }: WholeRunsRow): void {
    const { step } = this.frame;
    this.addRow(watched, Math.floor(from / step), Math.floor(to / step));
  }

  private brokenBy(point: Float64Array, { count, starts, going, begun }: Watched) {
    const at = (entries: Entries | undefined): number =>
      entries ? entries.reduce((sum, [column, value]) => sum + value * point[column]!, 0) : 0;
    const startAt = Array.from({ length: this.frame.steps }, (_, s) => at(starts[s]) / count);
    const goingAt = Array.from({ length: this.frame.steps }, (_, s) => at(going[s]));
    const begunAt = Array.from({ length: this.frame.steps }, (_, s) => at(begun[s]));
    const broken: { first: number; last: number; breach: number; key: string }[] = [];
    for (let first = 0; first < this.frame.steps; first++) {
      if (startAt[first]! < 1e-4) continue;
      let share = 0;
      let runs = goingAt[first]!;
      for (let last = first; last < this.frame.steps; last++) {
        share += startAt[last]!;
        if (last > first) runs += begunAt[last]!;
        if (runs > 1) break;
        if (startAt[last]! > 1e-4 && share - runs > LEAST_BREACH)
          broken.push({ first, last, breach: share - runs, key: `${first} ${last}` });
      }
    }
    return broken;
  }

  private addRow(watched: number, first: number, last: number): void {
    const { step } = this.frame;
    const { count, starts, going, begun, known } = this.watched[watched]!;
    if (known.has(`${first} ${last}`)) return;
    known.add(`${first} ${last}`);
    this.rows.push({ watched, from: first * step, to: last * step + step - 1 });
    const row: Entries = [];
    for (let s = first; s <= last; s++) {
      row.push(...(starts[s] ?? []));
      const runs = s === first ? going[s] : begun[s];
      for (const [column, value] of runs ?? []) row.push([column, -value * count]);
    }
    this.frame.builder.addRow({ lower: NO_LOWER, upper: 0 }, row);
  }
}
