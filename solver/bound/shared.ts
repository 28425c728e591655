import type { Operation } from "../search/model.js";
import { type Entries, type Frame, NO_LOWER } from "./frame.js";

/** Units that are no heaters, where one load of an amount has its own minutes: benches, kettles of other models. */
export class Units {
  private readonly rows = new Map<string, { rows: Set<number>; amount: number }>();

  constructor(private readonly frame: Frame) {}

  /** The line of units that are alike to the row, for loads of that amount. */
  lineOf(row: number, amount: number): string {
    const { horizon, capacity } = this.frame.model;
    const name = `unit ${amount} ${capacity.subarray(row * horizon, (row + 1) * horizon).join()}`;
    const unit = this.rows.get(name) ?? { rows: new Set<number>(), amount };
    unit.rows.add(row);
    this.rows.set(name, unit);
    return name;
  }

  /** In each step the units have so many minutes. */
  addRows(): void {
    const { frame } = this;
    for (const [name, { rows, amount }] of this.rows) {
      for (let s = 0; s < frame.steps; s++) {
        const entries = frame.at(name, s);
        if (entries.length === 0) continue;
        let open = 0;
        for (const row of rows) open += frame.capacityIn(s, row, (free) => Math.floor(free / amount));
        frame.builder.addRow({ lower: NO_LOWER, upper: open }, entries);
      }
    }
  }
}

/** What an operation asks of people, on the line of the groups that can give it. */
interface Need {
  readonly line: string;
  readonly heads: number;
  readonly minutes: number;
}

/** People: in each step no more heads are at work than there are, those beyond the regular ones are paid for. */
export class Crews {
  private readonly lines = new Map<string, Set<number>>();

  constructor(private readonly frame: Frame) {}

  needOf({ crew }: Operation, minutes: number): Need | null {
    if (!crew || crew.heads === 0) return null;
    const rows = [...crew.rows].sort((a, b) => a - b);
    const line = `crew ${rows.join()}`;
    this.lines.set(line, new Set(rows));
    return { line, heads: crew.heads, minutes: crew.minutes > 0 ? crew.minutes : minutes };
  }

  addRows(): void {
    const { frame } = this;
    for (let s = 0; s < frame.steps; s++) {
      const overtime = new Map<number, number>();
      for (const rows of this.lines.values()) {
        // Whatever only people of these rows can do, they do.
        const entries = [...this.lines].flatMap(([other, own]) =>
          [...own].every((row) => rows.has(row)) ? frame.at(other, s) : [],
        );
        if (entries.length === 0) continue;
        let regular = 0;
        const beyond: Entries = [];
        for (const row of rows) {
          const extra = frame.model.overtimeOfRow[row];
          regular += frame.capacityIn(s, row, (free, t) => Math.max(0, free - (extra?.heads[t] ?? 0)));
          if (!extra) continue;
          let column = overtime.get(row);
          if (column === undefined) {
            const upper = frame.capacityIn(s, row, (free, t) => Math.min(free, extra.heads[t]!));
            column = frame.builder.addColumn({ cost: extra.costPerMinute, lower: 0, upper });
            overtime.set(row, column);
          }
          beyond.push([column, -1]);
        }
        frame.builder.addRow({ lower: NO_LOWER, upper: regular }, [...merged(entries), ...beyond]);
      }
    }
  }
}

/** Entries with one value for each column. */
function merged(entries: Entries): Entries {
  const sums = new Map<number, number>();
  for (const [column, value] of entries) sums.set(column, (sums.get(column) ?? 0) + value);
  return [...sums];
}

/** Trips: whoever rides pays for one, and finds room on it. */
export class Trips {
  private readonly used: number[] = [];
  private readonly aboard: Entries[] = [];

  constructor(private readonly frame: Frame) {}

  /** Loads of a group ride the trip when they are made as these columns say, and take so many positions. */
  ride(trip: number, aboard: Entries, count: number): void {
    const { builder, model } = this.frame;
    this.used[trip] ??= builder.addColumn({ cost: model.trips[trip]!.cost, lower: 0, upper: 1, integer: true });
    builder.addRow({ lower: NO_LOWER, upper: 0 }, [
      ...aboard.map(([column]): [number, number] => [column, 1]),
      [this.used[trip], -count],
    ]);
    this.aboard[trip] ??= [];
    this.aboard[trip].push(...aboard);
  }

  addRows(): void {
    const { builder, model } = this.frame;
    this.aboard.forEach((entries, trip) => {
      const room = model.capacity[model.trips[trip]!.row * model.horizon]!;
      builder.addRow({ lower: NO_LOWER, upper: 0 }, [...entries, [this.used[trip]!, -room]]);
    });
  }
}
