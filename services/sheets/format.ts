import type { DayDocuments, Settings, Timetable } from "../../schemas/index.js";
import { instantMinute, localParts, parseInstant } from "../../solver/calendar.js";
import { clocksChange, offsetText, spanText } from "../../solver/local-clock.js";
import type { Cell, CellKind, Sheet } from "../../solver/sheets/index.js";
import { cToF, gToLb, LITRES_PER_QUART } from "../../solver/trade/units.js";

export type Units = NonNullable<Settings["units"]>;

const WEEKDAYS: Readonly<Record<string, string>> = {
  mon: "Monday",
  tue: "Tuesday",
  wed: "Wednesday",
  thu: "Thursday",
  fri: "Friday",
  sat: "Saturday",
  sun: "Sunday",
};
const MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split(" ");

/** Grams as kitchen scales show them. */
export function massText(massG: number, units: Units): string {
  if (units === "metric") return massG >= 1000 ? `${(massG / 1000).toFixed(3)} kg` : `${trimmed(massG)} g`;
  // Rounded to tenths of an ounce first, so that 16.0 oz never stands beside pounds.
  const tenths = Math.round(gToLb(massG) * 160);
  const lb = Math.floor(tenths / 160);
  const oz = (tenths % 160) / 10;
  return lb === 0 ? `${oz.toFixed(1)} oz` : oz === 0 ? `${lb} lb` : `${lb} lb ${oz.toFixed(1)} oz`;
}

function trimmed(value: number): string {
  return Number.isInteger(value) ? `${value}` : value.toFixed(1);
}

export function tempText(tempC: number, units: Units): string {
  return units === "metric" ? `${trimmed(Math.round(tempC * 10) / 10)} C` : `${Math.round(cToF(tempC))} F`;
}

export function moneyText(amount: number, currency: string): string {
  const figure = amount.toFixed(Math.abs(amount) < 1 && amount !== 0 ? 3 : 2);
  return currency === "XXX" ? figure : `${figure} ${currency}`;
}

/** Turns cells into lines of text on one site's clock. */
export class Formatter {
  private readonly units: Units;
  private readonly currency: string;
  private readonly zone: string;
  /** Clocks change within the window: the offset is shown. */
  private readonly withOffset: boolean;

  constructor(settings: Pick<Settings, "units" | "currency">, zone: string, withOffset: boolean) {
    this.units = settings.units ?? "metric";
    this.currency = settings.currency ?? "XXX";
    this.zone = zone;
    this.withOffset = withOffset;
  }

  /** Minutes since the epoch; 0 for what is no instant. */
  minute(instant: string): number {
    return Math.floor((parseInstant(instant) ?? 0) / 60);
  }

  /** Local date, YYYY-MM-DD. */
  date(instant: string): string {
    return localParts(this.minute(instant), this.zone).date;
  }

  /** "Friday 27 Nov". */
  day(instant: string): string {
    const { date, weekday } = localParts(this.minute(instant), this.zone);
    const [, month, day] = date.split("-");
    return `${WEEKDAYS[weekday]} ${Number(day)} ${MONTHS[Number(month) - 1]}`;
  }

  /** HH:MM; with the weekday in front when it is not on the date that the reader has in mind. */
  clock(instant: string, onDate: string | null): string {
    const minute = this.minute(instant);
    const { date, time, weekday } = localParts(minute, this.zone);
    const day = onDate !== null && date !== onDate ? `${WEEKDAYS[weekday]!.slice(0, 3)} ` : "";
    return `${day}${time}${this.offset(minute)}`;
  }

  /** Lines of a cell. `onDate` is the local date under which it stands; "" always names the weekday. */
  lines(value: Cell | undefined, as: CellKind, onDate: string | null): string[] {
    if (value === null || value === undefined || as === "tick" || as === "blank") return [""];
    if (as === "span" && Array.isArray(value)) {
      const [from = "", to = ""] = value.map((instant) => this.clock(instant, onDate));
      return [spanText(from, to)];
    }
    if (as === "seconds-clock" && Array.isArray(value)) return [this.dips(value)];
    if (Array.isArray(value)) return value.length === 0 ? [""] : value.map(String);
    switch (as) {
      case "mass":
        return [massText(Number(value), this.units)];
      case "temp":
        return [tempText(Number(value), this.units)];
      case "difference":
        return [this.units === "metric" ? `${trimmed(Number(value))} C` : `${(Number(value) * 1.8).toFixed(1)} F`];
      case "volume":
        return [
          this.units === "metric"
            ? `${trimmed(Number(value))} l`
            : `${(Number(value) / LITRES_PER_QUART).toFixed(0)} qt`,
        ];
      case "clock":
        // The offset on a line of its own: columns of times stay as narrow as on other days.
        return this.clock(String(value), onDate).split(/ (?=[+-])/);
      case "minutes":
        return [`${trimmed(Number(value))} min`];
      case "money":
        return [moneyText(Number(value), this.currency)];
      case "percent":
        return [trimmed(Number(value))];
      case "count":
        return [`${value}`];
      default:
        return [String(value)];
    }
  }

  private offset(minute: number): string {
    return this.withOffset ? ` ${offsetText(minute, this.zone)}` : "";
  }

  /** Dips as MM:SS within their hour: "04:12:00 14:05 16:10". */
  private dips(instants: readonly string[]): string {
    let hour = "";
    return instants
      .map((instant) => {
        const seconds = parseInstant(instant) ?? 0;
        const minute = Math.floor(seconds / 60);
        const { time } = localParts(minute, this.zone);
        const second = String(seconds % 60).padStart(2, "0");
        const offset = this.offset(minute);
        const isNew = `${time.slice(0, 2)}${offset}` !== hour;
        hour = `${time.slice(0, 2)}${offset}`;
        return isNew ? `${time}:${second}${offset}` : `${time.slice(3)}:${second}`;
      })
      .join(" ");
  }
}

/** The formatter of a sheet of a day: on the clock of its site. */
export function formatterOf(
  { settings }: Pick<DayDocuments, "settings">,
  { window }: Pick<Timetable, "window">,
  { timeZone }: Pick<Sheet, "timeZone">,
): Formatter {
  const span = { fromMinute: instantMinute(window.from), toMinute: instantMinute(window.to) };
  return new Formatter(settings, timeZone, clocksChange(timeZone, span));
}
