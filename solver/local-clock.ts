import { formatInstant, localParts, type MinuteSpan } from "./calendar.js";
import { changesWithin } from "./zone-offsets.js";

/** Do a zone's clocks change inside a span? */
export function clocksChange(timeZone: string, { fromMinute, toMinute }: MinuteSpan): boolean {
  return changesWithin(fromMinute * 60, toMinute * 60, timeZone);
}

/**
 * How the times of a day are written for people, on paper and in print: HH:MM of the site's clock. Where its clocks change inside the day's window every time carries
 * its offset: one that comes twice is told apart, and an end that seems an hour off is seen to be none.
 */
export class LocalClock {
  private readonly timeZone: string;
  private readonly withOffset: boolean;

  constructor(timeZone: string, window: MinuteSpan) {
    this.timeZone = timeZone;
    this.withOffset = clocksChange(timeZone, window);
  }

  time(minute: number): string {
    return `${localParts(minute, this.timeZone).time}${this.withOffset ? ` ${offsetText(minute, this.timeZone)}` : ""}`;
  }
}

/** Two times of the day as one span: "03:22-03:47", "01:22 +01:00 to 01:07 +00:00". */
export function spanText(from: string, to: string): string {
  return `${from}${/[+-]/.test(from) ? " to " : "-"}${to}`;
}

/** "+01:00". */
export function offsetText(minute: number, timeZone: string): string {
  return /(Z|[+-]\d\d:\d\d)$/.exec(formatInstant(minute, timeZone))?.[0] ?? "";
}
