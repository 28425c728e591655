import type { Happening } from "../../../schemas/index.js";
import { dayText, dayTime, hhmm, type Span } from "./clock.js";
import { type Plan, zoneOf } from "./plan.js";
import { whenMs } from "./whens.js";

/** A stretch in which a unit, or something that it is part of, does not work. */
export interface Outage extends Span {
  /** What was told of. */
  readonly unit: string;
  /** Until further notice: the end is that of the day. */
  readonly isOpen: boolean;
}

/** When a unit, or all that it is part of, is out of service. `more`: told of, but not in the day's happenings yet. */
export function outagesOf(plan: Plan, unit: string, more: readonly Happening[] = []): Outage[] {
  const zone = zoneOf(plan, unit.split("/")[0]!);
  const outages: Outage[] = [];
  for (const happening of [...plan.day.happenings.happenings, ...more]) {
    if (happening.kind !== "out-of-service") continue;
    if (unit !== happening.unit && !unit.startsWith(`${happening.unit}/`)) continue;
    const fromMs = whenMs(happening.from, zone);
    const isOpen = happening.to === undefined;
    const toMs = happening.to === undefined ? plan.span.toMs : whenMs(happening.to, zone);
    if (fromMs !== undefined && toMs !== undefined) outages.push({ unit: happening.unit, fromMs, toMs, isOpen });
  }
  return outages;
}

/** "out of order until 07:30", "out of order until further notice", "out of order from 09:00 until 10:30". */
export function outageText(zone: string, { fromMs, toMs, isOpen }: Outage, nowMs: number): string {
  const clock = (ms: number): string =>
    dayText(zone, ms) === dayText(zone, nowMs) ? hhmm(zone, ms) : dayTime(zone, ms);
  const from = fromMs > nowMs ? ` from ${clock(fromMs)}` : "";
  return `out of order${from} until ${isOpen ? "further notice" : clock(toMs)}`;
}

/** The longest that it is out at an instant. */
export function outageAt(outages: readonly Outage[], ms: number): Outage | undefined {
  return outages.filter(({ fromMs, toMs }) => fromMs <= ms && ms < toMs).sort((a, b) => b.toMs - a.toMs)[0];
}
