import type { Task } from "../../schemas/index.js";
import type { Alight, BegunClean, BegunTask, RowUse } from "../problem/begun.js";
import { type DayIndex, isOf, type OutageTimes } from "../problem/day-index.js";
import { endIn } from "../problem/kept.js";
import type { StepTrace } from "../problem/modes.js";
import type { Prepared } from "../problem/prepare.js";
import { BLOCK, type Firing } from "../search/model.js";
import type { Frozen } from "./freeze.js";
import { begunCleans, settleHeat } from "./heat-state.js";

/** Free on rows in what is past: it has happened, whatever the capacity was. */
const PLENTY = 1 << 28;

/** What has begun takes of the rows: work, stays, cleaning and heat, from the past on. */
export class BegunRows {
  readonly firings: Firing[] = [];
  readonly alight: Alight[] = [];
  readonly cleans: readonly BegunClean[];
  /** By load or batch. */
  readonly uses = new Map<string, RowUse[]>();
  /** A row that is always free, on a heater that costs nothing: for what has begun. */
  readonly spareRow: number;
  private readonly index: DayIndex;
  private readonly stays: RowUse[] = [];

  constructor(
    private readonly prepared: Prepared,
    private readonly at: number,
  ) {
    this.index = prepared.index;
    this.spareRow = this.makeSpareRow();
    this.cleans = begunCleans(this.index, at);
  }

  private makeSpareRow(): number {
    const { book, index } = this.prepared;
    const row = book.add({ kind: "several", site: index.day.network.sites[0]!.id }, PLENTY);
    const stretches = Int32Array.from([0, index.horizon]);
    const heater = book.addHeater(
      { leadMinutes: 0, stretches, noLead: new Int32Array(0) },
      { costPerMinute: 0, changeCost: 0 },
    );
    book.heat(row, heater, 0);
    return row;
  }

  /** Takes what has begun off the rows for good, and frees what is past: call when all loads and batches are known. */
  settle(): void {
    const { book } = this.prepared;
    for (const uses of this.uses.values()) {
      for (const { row, from, to, amount, tempC } of uses) {
        book.use(row, from, to, amount, BLOCK, this.soiledUntil(row, to));
        const heater = book.heaterAt(row);
        if (heater >= 0 && isWithin(book.heaters[heater]!.stretches, from))
          this.firings.push({ heater, start: from, end: to, klass: tempC ?? book.classAt(row) });
      }
    }
    for (const clean of this.cleans) {
      // A cleaning that is being done is finished first.
      if (clean.end <= this.at) continue;
      for (let row = 0; row < book.meanings.length; row++)
        if (book.meanings[row]!.unit === clean.unit) book.close(row, this.at, clean.end);
    }
    settleHeat(this.prepared, this.at, this.firings, this.alight);
    this.settleStays();
    book.freePast(this.at, PLENTY);
  }

  /** Rows in which something stands that has begun to, until it was planned to go. */
  noteStays(tasks: readonly BegunTask[], { made, full }: Frozen): void {
    const open = tasks[tasks.length - 1];
    if (!open || open.end !== null || open.carriedAt !== undefined) return;
    const hold = full.holds[holdOf(made.meaning.steps, open.task.does)];
    if (!hold) return;
    const rows = open.task.id.endsWith("-2") && hold.ride ? hold.ride.rows : hold.rows;
    if (rows.length !== 1) return;
    const to = endIn(this.index, open.task);
    this.stays.push({ row: rows[0]!, from: open.start, to, amount: hold.amount });
  }

  /** What stands already has room, even if something came sooner than planned and more stands there than should. */
  private settleStays(): void {
    const byRow = new Map<number, RowUse[]>();
    for (const stay of this.stays) {
      const own = byRow.get(stay.row);
      if (own) own.push(stay);
      else byRow.set(stay.row, [stay]);
    }
    for (const [row, own] of byRow) this.settleStaysOn(row, own);
  }

  private settleStaysOn(row: number, own: RowUse[]): void {
    const { book } = this.prepared;
    const outages = outagesAround(this.index, book.meanings[row]!.unit);
    own.sort(byEnd);
    let standing = 0;
    for (const { amount } of own) standing += amount;
    let gone = 0;
    for (let t = this.at; t < own[own.length - 1]!.to; t++) {
      while (own[gone]!.to <= t) standing -= own[gone++]!.amount;
      if (!isOut(outages, t)) book.atLeast(row, t, standing);
    }
  }

  /** A unit that is soiled and not being cleaned yet can be clean from `at` on at the earliest. */
  private soiledUntil(row: number, to: number): number {
    const { kind, unit } = this.prepared.book.meanings[row]!;
    if (to >= this.at || kind === "deck-positions") return to;
    let from = this.at;
    for (const clean of this.cleans) {
      if (clean.unit !== unit) continue;
      if (clean.start >= to) return to;
      // One that is being done, though it was soiled once more meanwhile, is finished first.
      from = Math.max(from, clean.end);
    }
    return from;
  }
}

/** What takes a unit, something that it is part of, or a part of it out of use. */
export function outagesAround(
  { outages, shrinkages }: Pick<DayIndex, "outages" | "shrinkages">,
  unit: string | undefined,
): OutageTimes[] {
  const found: OutageTimes[] = [];
  if (unit === undefined) return found;
  for (const told of [outages, shrinkages])
    for (const outage of told) if (isOf(outage.unit, unit) || isOf(unit, outage.unit)) found.push(outage);
  return found;
}

/** The hold that a step lasts for. */
function holdOf(steps: readonly StepTrace[], does: Task["does"]): number {
  for (const { step, hold } of steps) if (step.does === does) return hold;
  return -1;
}

/** Is a minute within one of some stretches? */
function isWithin(stretches: Int32Array, minute: number): boolean {
  for (let i = 0; i < stretches.length; i += 2) if (minute >= stretches[i]! && minute < stretches[i + 1]!) return true;
  return false;
}

function byEnd(a: RowUse, b: RowUse): number {
  return a.to - b.to;
}

function isOut(outages: readonly OutageTimes[], minute: number): boolean {
  for (const { from, to } of outages) if (from <= minute && minute < to) return true;
  return false;
}
