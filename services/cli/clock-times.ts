import type { DayDocuments } from "../../schemas/index.js";
import { clockReadings, formatInstant, type MinuteSpan, resolveWhen, resolveWindow } from "../../solver/calendar.js";

const CLOCK = /^([01]\d|2[0-3]):[0-5]\d$/;
const DAY_MINUTES = 24 * 60;

type Allowed = (minute: number) => boolean;
const ANY: Allowed = () => true;

/**
 * HH:MM of the command line as a date and time, on the date that can be meant; any other text as it is. It is the wall clock of the site concerned.
 * Where two readings of the clock can be meant, in the night that gains an hour, no offset is written, so that the check of the day asks for one.
 */
export class ClockTimes {
  private readonly window: MinuteSpan;
  private readonly at: number;
  private readonly isAtTold: boolean;

  /** `at`: the epoch minute at which things stand so; `isAtTold`: somebody said so, it is not the window's start for want of better. The day has passed its checks. */
  constructor(day: DayDocuments, at: number, isAtTold: boolean) {
    const window = resolveWindow(day.settings, day.network);
    if ("problem" in window) throw new RangeError("the window does not resolve; check the day first");
    this.window = window;
    this.at = at;
    this.isAtTold = isAtTold;
  }

  /** The instant at which things stand so, in full. */
  instant(timeZone: string): string {
    return formatInstant(this.at, timeZone);
  }

  /** What happened: within half a day of the instant; at 05:00, 23:30 is last night's and 07:30 this morning's. */
  told(text: string, timeZone: string): string {
    return this.isAtTold ? this.nearest(text, timeZone, this.at, ANY) : this.wished(text, timeZone);
  }

  /** What happened to a task: as `told`, but every task is inside the window. */
  toldOfTask(text: string, timeZone: string): string {
    return this.isAtTold
      ? this.nearest(text, timeZone, this.at, (minute) => this.isInside(minute), ANY)
      : this.wished(text, timeZone);
  }

  /** What is wished for: inside the window, and ahead if that can be. */
  wished(text: string, timeZone: string): string {
    const isAhead: Allowed = (minute) => minute >= this.at;
    const isInside: Allowed = (minute) => this.isInside(minute);
    return this.nearest(text, timeZone, this.at, (minute) => isInside(minute) && isAhead(minute), isInside, isAhead);
  }

  /** When something ends that began then: the first such time after. */
  endOf(text: string, from: string, timeZone: string): string {
    const start = resolveWhen(from, timeZone);
    return "problem" in start
      ? this.told(text, timeZone)
      : this.nearest(text, timeZone, start.minute, (minute) => minute >= start.minute);
  }

  private isInside(minute: number): boolean {
    return minute >= this.window.fromMinute && minute <= this.window.toMinute;
  }

  /** Of the first kind of readings that there are, the nearest to a minute, the earlier of two as near. */
  private nearest(text: string, timeZone: string, to: number, ...kinds: readonly Allowed[]): string {
    if (!CLOCK.test(text)) return text;
    const span = {
      fromMinute: Math.min(to, this.window.fromMinute) - DAY_MINUTES,
      toMinute: Math.max(to, this.window.toMinute) + DAY_MINUTES,
    };
    const all = clockReadings(text, timeZone, span);
    for (const isAllowed of kinds) {
      const [best] = all
        .filter(({ minute }) => isAllowed(minute))
        .sort((a, b) => Math.abs(a.minute - to) - Math.abs(b.minute - to) || a.minute - b.minute);
      if (!best) continue;
      const twin = all.find(({ wall, minute }) => wall === best.wall && minute !== best.minute);
      return twin && !isAllowed(twin.minute) ? best.instant : best.wall;
    }
    return text;
  }
}
