import type { Alight, BegunClean } from "../problem/begun.js";
import { type DayIndex, outagesOf } from "../problem/day-index.js";
import { endIn, minuteIn, startIn } from "../problem/kept.js";
import type { Prepared } from "../problem/prepare.js";
import type { RowBook } from "../problem/row-book.js";
import { changeMinutes } from "../problem/site-rows.js";
import type { Firing } from "../search/model.js";

/** Cleanings of the timetable in force that have begun: not on a unit that was out of service then. */
export function begunCleans(index: DayIndex, at: number): BegunClean[] {
  const cleans: BegunClean[] = [];
  for (const task of index.day.inForce?.tasks ?? []) {
    if (task.does !== "clean" || task.unit === undefined) continue;
    const start = startIn(index, task);
    const wasOut = outagesOf(index, task.unit).some(({ from, to }) => from <= start && start < to);
    if (start < at && !wasOut) cleans.push({ task, unit: task.unit, start, end: endIn(index, task) });
  }
  return cleans;
}

/** When a heater was lit, and what it has been set to since when; null when it is off at the instant. */
interface HeatNow {
  readonly onSince: number;
  readonly tempC: number;
  readonly setAt: number;
  readonly hotFrom: number;
}

function spanAt(index: DayIndex, spans: readonly { from: string; to: string }[], at: number): number | null {
  for (const span of spans) {
    const from = minuteIn(index, span.from);
    // What goes off at the instant is still hot then.
    if (from < at && at <= minuteIn(index, span.to)) return from;
  }
  return null;
}

function deckNow(index: DayIndex, unit: string, at: number): HeatNow | null {
  const program = index.day.inForce?.ovenProgram.find((entry) => entry.deck === unit);
  const onSince = program ? spanAt(index, program.on, at) : null;
  if (!program || onSince === null) return null;
  const set = program.setpoints
    .map((point) => ({ at: minuteIn(index, point.at), hotFrom: minuteIn(index, point.hotFrom), tempC: point.tempC }))
    .filter((point) => point.at >= onSince && point.at < at)
    .sort((a, b) => a.at - b.at)
    .at(-1);
  return set ? { onSince, tempC: set.tempC, setAt: set.at, hotFrom: set.hotFrom } : null;
}

/** A heater that is off is cold: from the instant on it has a stretch of its own, with its lead. */
function startCold(book: RowBook, heater: number, rows: readonly number[], at: number): void {
  const { stretches, leadMinutes } = book.heaters[heater]!;
  const split: number[] = [];
  for (let i = 0; i < stretches.length; i += 2) {
    const from = stretches[i]!;
    const to = stretches[i + 1]!;
    if (from < at && at < to) {
      split.push(from, at, at, to);
      for (const row of rows) book.close(row, at, Math.min(to, at + leadMinutes));
    } else split.push(from, to);
  }
  book.setStretches(heater, Int32Array.from(split));
}

function stayOn(
  book: RowBook,
  heater: number,
  now: HeatNow,
  klass: number,
  at: number,
  firings: Firing[],
  alight: Alight[],
): void {
  const minute = Math.max(at, now.onSince + book.heaters[heater]!.leadMinutes);
  const { stretches } = book.heaters[heater]!;
  const inService = stretches.some((_, i) => i % 2 === 0 && minute >= stretches[i]! && minute < stretches[i + 1]!);
  const sameStretch = stretches.some(
    (_, i) => i % 2 === 0 && now.onSince >= stretches[i]! && minute < stretches[i + 1]! && minute >= stretches[i]!,
  );
  if (!inService || !sameStretch) return;
  firings.push({ heater, start: minute, end: minute, klass });
  alight.push({ heater, minute, klass, setAt: now.setAt });
}

/** Is something that has begun still on the heater? Then it is on, whatever the program said. */
function isBusy(firings: readonly Firing[], heater: number, at: number): Firing | undefined {
  return firings.find((firing) => firing.heater === heater && firing.start < at && firing.end >= at);
}

/**
 * Ovens and kettles as they are at the instant by the programs in force: what is on is hot when it is hot, what is off must be lit first, and a dial
 * that has been turned stays turned. Adds what is alight to `firings` and `alight`.
 */
export function settleHeat(prepared: Prepared, at: number, firings: Firing[], alight: Alight[]): void {
  const { index, book, request } = prepared;
  const begun = [...firings];
  for (const { site, decks, kettles } of request.rows.values()) {
    const done = new Set<number>();
    for (const { row, unit, oven, deckIndex } of decks) {
      const heater = book.heaterAt(row);
      if (done.has(heater)) continue;
      done.add(heater);
      const own = decks.filter((deck) => book.heaterAt(deck.row) === heater);
      const busy = isBusy(begun, heater, at);
      const program = deckNow(index, unit, at);
      if (!program && !busy) {
        startCold(
          book,
          heater,
          own.map((deck) => deck.row),
          at,
        );
        continue;
      }
      const now = program ?? { onSince: 0, tempC: busy!.klass, setAt: busy!.start, hotFrom: busy!.start };
      const tempC = busy ? busy.klass : now.tempC;
      for (const deck of own) {
        const change = deck.tempC === tempC ? 0 : changeMinutes(oven, deckIndex, tempC, deck.tempC);
        const hot = busy ? at : now.hotFrom;
        book.close(deck.row, at, Math.max(at, hot) + change);
      }
      if (!busy) stayOn(book, heater, now, tempC, at, firings, alight);
    }
    for (const kettle of site.kettles) {
      const rows = [...new Set([...kettles].filter(([key]) => key.startsWith(`${kettle.id} `)).map(([, row]) => row))];
      if (rows.length === 0) continue;
      const heater = book.heaterAt(rows[0]!);
      if (isBusy(begun, heater, at)) continue;
      const program = index.day.inForce?.kettleProgram.find((entry) => entry.kettle === `${site.id}/${kettle.id}`);
      const onSince = program ? spanAt(index, program.on, at) : null;
      if (onSince === null) {
        startCold(book, heater, rows, at);
        continue;
      }
      const boils = onSince + book.heaters[heater]!.leadMinutes;
      for (const row of rows) book.close(row, at, Math.max(at, boils));
      stayOn(book, heater, { onSince, tempC: 0, setAt: onSince, hotFrom: boils }, 0, at, firings, alight);
    }
  }
}
