import { LpBuilder, type LpModel } from "../../../solver/lp/model.js";
import type { Hold, Mode, Operation, SearchModel } from "../../../solver/search/model.js";

type Entries = [column: number, value: number][];

/** A column that says: it happens at this minute. */
interface Point {
  readonly column: number;
  readonly at: number;
}

/** Work of a load on a row. */
interface Cover {
  readonly column: number;
  readonly from: number;
  readonly to: number;
}

/** May a model be written as the program below? It leaves out what the tiny models do not have. */
export function canBeProgram(model: SearchModel): boolean {
  const isPlain = ({ rows, heatRows, ride }: Hold): boolean => rows.length <= 1 && heatRows.length === 0 && !ride;
  return (
    model.trips.length === 0 &&
    model.overtimeOfRow.every((overtime) => overtime === null) &&
    model.heaters.every(
      ({ changeCost, stretches, noLead }) => changeCost === 0 && stretches.length === 2 && noLead.length === 0,
    ) &&
    model.loads.every(({ modes }) =>
      modes.every(
        ({ holds, operations }) =>
          holds.every(isPlain) && operations.every(({ crew }) => crew === null || crew.rows.length === 1),
      ),
    )
  );
}

/**
 * A search model as a time-indexed integer program on the same minutes: a 0/1 column for every start of every operation on every
 * alternative. Its optimum is the least cost of any plan.
 */
export class PlanProgram {
  private readonly builder = new LpBuilder();
  private readonly model: SearchModel;
  /** By row * horizon + minute: what is used. */
  private readonly uses = new Map<number, Entries>();
  /** By row, by load: its work there. */
  private readonly covers = new Map<number, Map<number, Cover[]>>();

  constructor(model: SearchModel) {
    this.model = model;
  }

  build(): LpModel {
    const { model } = this;
    const mixes = model.batches.map(({ options }) => {
      const points = options.map((option) => this.addMix(option));
      this.atMost(1, points.flat());
      return points.map((ends, o) => ({ site: options[o]!.site, ends }));
    });
    model.loads.forEach((load, l) => {
      const total: Entries = [];
      for (const mode of load.modes) {
        const ends = mixes[load.batch]!.flatMap((option) => (option.site === mode.site ? option.ends : []));
        total.push(...this.addMode(l, mode, ends));
      }
      total.push([this.builder.addColumn({ cost: load.dropCost, lower: 0, upper: 1 }), 1]);
      this.builder.addRow({ lower: 1, upper: 1 }, total);
    });
    this.addHeaters();
    this.addConflicts();
    for (const [key, entries] of this.uses)
      this.builder.addRow({ lower: Number.NEGATIVE_INFINITY, upper: model.capacity[key]! }, merged(entries));
    return this.builder.build();
  }

  private atMost(upper: number, points: readonly Point[]): void {
    this.builder.addRow({ lower: Number.NEGATIVE_INFINITY, upper }, plus(points));
  }

  private use(row: number, from: number, to: number, column: number, amount: number): void {
    for (let t = from; t < to; t++) {
      const key = row * this.model.horizon + t;
      const entries = this.uses.get(key);
      if (entries) entries.push([column, amount]);
      else this.uses.set(key, [[column, amount]]);
    }
  }

  private isOpen(row: number, from: number, to: number, amount: number): boolean {
    if (row < 0) return true;
    for (let t = from; t < to; t++) if (this.model.capacity[row * this.model.horizon + t]! < amount) return false;
    return true;
  }

  /** One column per start; a point is the end of the mix. */
  private addMix({ row, minutes, crew, from, to }: SearchModel["batches"][number]["options"][number]): Point[] {
    const points: Point[] = [];
    for (let t = from; t <= Math.min(to, this.model.horizon - minutes); t++) {
      const end = t + minutes;
      if (!this.isOpen(row, t, end, 1) || (crew && !this.isOpen(crew.rows[0]!, t, end, crew.heads))) continue;
      const column = this.builder.addColumn({ cost: 0, lower: 0, upper: 1, integer: true });
      this.use(row, t, end, column, 1);
      if (crew) this.use(crew.rows[0]!, t, end, column, crew.heads);
      points.push({ column, at: end });
    }
    return points;
  }

  /** Adds one way to make a load; the entries add up to 1 when it is made so. */
  private addMode(load: number, mode: Mode, mixEnds: readonly Point[]): Entries {
    const { builder } = this;
    // When this load's dough is mixed, if it is made so: one of the batch's mix ends.
    const ownEnds = mixEnds.map(({ column: mix, at }) => {
      const column = builder.addColumn({ cost: 0, lower: 0, upper: 1 });
      builder.addRow({ lower: Number.NEGATIVE_INFINITY, upper: 0 }, [
        [column, 1],
        [mix, -1],
      ]);
      return { column, at };
    });
    const made = plus(ownEnds);
    const last = mode.operations.length - 1;
    const operations = mode.operations.map((operation, k) => this.addOperation(load, mode, operation, k === last));
    for (const { starts } of operations) builder.addRow({ lower: 0, upper: 0 }, [...made, ...minus(starts)]);
    mode.holds.forEach((hold, k) => {
      const before = k === 0 ? ownEnds : operations[k - 1]!.ends;
      const { starts } = operations[k]!;
      this.link(before, starts, hold.least, hold.greatest);
      if (hold.rows.length > 0) this.occupy(hold.rows[0]!, hold.amount, before, starts);
    });
    for (const { row, amount, fromOperation, toOperation } of mode.spans) {
      const from = fromOperation < 0 ? ownEnds : operations[fromOperation]!.starts;
      this.occupy(row, amount, from, toOperation < 0 ? [] : operations[toOperation]!.starts);
    }
    if (mode.warmMinutes < this.model.horizon) {
      const from = mode.warmFrom < 0 ? ownEnds : operations[mode.warmFrom]!.starts;
      this.link(from, operations[mode.anchor]!.starts, 0, mode.warmMinutes);
    }
    return made;
  }

  private addOperation(load: number, mode: Mode, { alternatives, crew, from, to }: Operation, isLast: boolean) {
    const { lateCost, earlyCost, dropCost } = this.model.loads[load]!;
    const starts: Point[] = [];
    const ends: Point[] = [];
    for (const { row, amount, minutes } of alternatives) {
      for (let t = from; t <= Math.min(to, this.model.horizon - minutes); t++) {
        const end = t + minutes;
        const crewEnd = crew && crew.minutes > 0 ? t + crew.minutes : end;
        if (!this.isOpen(row, t, end, amount) || (crew && !this.isOpen(crew.rows[0]!, t, crewEnd, crew.heads)))
          continue;
        const cost = isLast ? lateCost[end]! + earlyCost[end]! : 0;
        if (isLast && (end > mode.finishBy || cost >= dropCost)) continue;
        const column = this.builder.addColumn({ cost, lower: 0, upper: 1, integer: true });
        if (crew) this.use(crew.rows[0]!, t, crewEnd, column, crew.heads);
        if (row >= 0) {
          this.use(row, t, end, column, amount);
          this.cover(row, load, { column, from: t, to: end });
        }
        starts.push({ column, at: t });
        ends.push({ column, at: end });
      }
    }
    return { starts, ends };
  }

  private cover(row: number, load: number, cover: Cover): void {
    const byLoad = this.covers.get(row) ?? new Map<number, Cover[]>();
    this.covers.set(row, byLoad);
    byLoad.set(load, [...(byLoad.get(load) ?? []), cover]);
  }

  /** What starts at a minute had its beginning between `least` and `greatest` minutes before. */
  private link(before: readonly Point[], after: readonly Point[], least: number, greatest: number): void {
    const byMinute = byMinuteOf(after);
    for (const [at, points] of byMinute) {
      const within = before.filter((point) => point.at <= at - least && point.at >= at - greatest);
      this.builder.addRow({ lower: Number.NEGATIVE_INFINITY, upper: 0 }, [...plus(points), ...minus(within)]);
    }
  }

  /** Takes an amount of a row from one point to another: a column per minute, carried on from minute to minute. */
  private occupy(row: number, amount: number, from: readonly Point[], to: readonly Point[]): void {
    const begin = byMinuteOf(from);
    const finish = byMinuteOf(to);
    let last = -1;
    const low = Math.min(...from.map(({ at }) => at));
    const high = to.length === 0 ? this.model.horizon - 1 : Math.max(...to.map(({ at }) => at));
    for (let t = low; t < high; t++) {
      const column = this.builder.addColumn({ cost: 0, lower: 0, upper: 1 });
      const entries: Entries = [[column, 1], ...minus(begin.get(t) ?? []), ...plus(finish.get(t) ?? [])];
      if (last >= 0) entries.push([last, -1]);
      // Not less than what is there: where something ends before it could begin, nothing is.
      this.builder.addRow({ lower: 0, upper: Number.POSITIVE_INFINITY }, entries);
      this.use(row, t, t + 1, column, amount);
      last = column;
    }
  }

  /** A heater is lit once and put out once; between, it pays for every minute, and for its lead. */
  private addHeaters(): void {
    const { heaters, heaterOfRow, horizon } = this.model;
    heaters.forEach(({ leadMinutes, costPerMinute }, h) => {
      if (costPerMinute === 0) return;
      const works = [...this.covers].filter(([row]) => heaterOfRow[row] === h).flatMap(([, byLoad]) => [...byLoad]);
      if (works.length === 0) return;
      const lit = this.builder.addColumn({ cost: leadMinutes * costPerMinute, lower: 0, upper: 1 });
      let begun = -1;
      let done = -1;
      for (let t = 0; t < horizon; t++) {
        const begin = this.builder.addColumn({ cost: costPerMinute, lower: 0, upper: 1 });
        const end = this.builder.addColumn({ cost: -costPerMinute, lower: 0, upper: 1 });
        if (begun >= 0) {
          this.rising(begun, begin);
          this.rising(done, end);
        }
        this.rising(end, begin);
        this.rising(begin, lit);
        begun = begin;
        done = end;
        for (const [, covers] of works) {
          const now = covers
            .filter(({ from, to }) => from <= t && t < to)
            .map(({ column }): [number, number] => [column, 1]);
          if (now.length === 0) continue;
          this.builder.addRow({ lower: Number.NEGATIVE_INFINITY, upper: 0 }, [...now, [begin, -1], [end, 1]]);
        }
      }
    });
  }

  private rising(lesser: number, greater: number): void {
    this.builder.addRow({ lower: 0, upper: Number.POSITIVE_INFINITY }, [
      [greater, 1],
      [lesser, -1],
    ]);
  }

  /** Work on a row keeps its rivals clear, so and so long before and after. */
  private addConflicts(): void {
    const { conflicts, horizon } = this.model;
    const busy = new Map<number, number>();
    /** 1 while anything is on the row. */
    const busyAt = (row: number, t: number): number => {
      const key = row * horizon + t;
      let column = busy.get(key);
      if (column !== undefined) return column;
      column = this.builder.addColumn({ cost: 0, lower: 0, upper: 1 });
      busy.set(key, column);
      for (const covers of this.covers.get(row)?.values() ?? []) {
        const now = covers
          .filter(({ from, to }) => from <= t && t < to)
          .map(({ column: one }): [number, number] => [one, 1]);
        if (now.length > 0) this.builder.addRow({ lower: Number.NEGATIVE_INFINITY, upper: 0 }, [...now, [column, -1]]);
      }
      return column;
    };
    for (const [row, byLoad] of this.covers) {
      const list = conflicts[row]!;
      for (let c = 0; c < list.length; c += 3) {
        const other = list[c]!;
        if (!this.covers.has(other)) continue;
        for (const covers of byLoad.values()) {
          for (let t = 0; t < horizon; t++) {
            const near = covers.filter(({ from, to }) => from - list[c + 1]! <= t && t < to + list[c + 2]!);
            if (near.length === 0) continue;
            const entries = near.map(({ column }): [number, number] => [column, 1]);
            this.builder.addRow({ lower: Number.NEGATIVE_INFINITY, upper: 1 }, [...entries, [busyAt(other, t), 1]]);
          }
        }
      }
    }
  }
}

function byMinuteOf(points: readonly Point[]): Map<number, Point[]> {
  const groups = new Map<number, Point[]>();
  for (const point of points) {
    const group = groups.get(point.at);
    if (group) group.push(point);
    else groups.set(point.at, [point]);
  }
  return groups;
}

function plus(points: readonly Point[]): Entries {
  return points.map(({ column }) => [column, 1]);
}

function minus(points: readonly Point[]): Entries {
  return points.map(({ column }) => [column, -1]);
}

/** A column may be given once only in a row. */
function merged(entries: Entries): Entries {
  const sums = new Map<number, number>();
  for (const [column, value] of entries) sums.set(column, (sums.get(column) ?? 0) + value);
  return [...sums];
}
