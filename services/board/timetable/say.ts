import { dayTime, hhmm, hhmmSpan } from "../logic/clock.js";
import { levelAt } from "../logic/levels.js";
import { DOES, type Plan, whatOf, whereOf, zoneOf } from "../logic/plan.js";
import type { Bar, Row } from "../logic/rows/types.js";

/** What one reads out for a task. */
export function sayTask(current: Plan, id: string): string {
  const task = current.byId.get(id);
  if (!task) return "";
  const zone = zoneOf(current, task.site);
  return `${DOES[task.task.does]}: ${whatOf(current, task)}, ${hhmmSpan(zone, task, " to ")}, ${whereOf(current, task.task)}${current.pins.has(id) ? ", pinned" : ""}`;
}

/** What stands at a point of the picture, in words: a task, a trip, how full a strip is, how hot a deck. */
export function textAt(plan: Plan, row: Row, ms: number, bar: Bar | undefined): string {
  if (bar?.task) return sayTask(plan, bar.task.id);
  const zone = zoneOf(plan, row.site);
  if (bar?.text) return `${bar.text} positions, leaves ${hhmm(zone, bar.fromMs)}, there ${hhmm(zone, bar.toMs)}`;
  if (row.gauge)
    return `${row.name} at ${dayTime(zone, ms)}: ${levelAt(row.gauge.levels, ms)} of ${levelAt(row.gauge.room, ms)} ${row.gauge.counts}`;
  const heat = row.heats?.find((span) => ms >= span.fromMs && ms < span.toMs);
  if (!heat) return "";
  const to = heat.tempC === undefined ? "the boil" : `${heat.tempC} °C`;
  return ms < heat.hotMs
    ? `Warming to ${to}, there at ${hhmm(zone, heat.hotMs)}`
    : `At ${to} until ${hhmm(zone, heat.toMs)}`;
}
