import { clockFace, HOUR, MINUTE, type Span } from "./clock.js";

/** The local calendar days that touch a span, each from midnight to midnight: 23 or 25 hours when the clocks change. */
export function localDays(zone: string, span: Span): Span[] {
  const midnights: number[] = [];
  const quarter = 15 * MINUTE;
  for (let ms = Math.floor(span.fromMs / quarter) * quarter - 26 * HOUR; ms <= span.toMs + 26 * HOUR; ms += quarter)
    if (clockFace(zone, ms) === "00:00") midnights.push(ms);
  const days: Span[] = [];
  for (let i = 0; i + 1 < midnights.length; i++) {
    const day = { fromMs: midnights[i]!, toMs: midnights[i + 1]! };
    if (day.toMs > span.fromMs && day.fromMs < span.toMs) days.push(day);
  }
  return days;
}
