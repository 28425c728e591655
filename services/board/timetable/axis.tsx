import type { Signal } from "@preact/signals";
import { clockFace, dayText, ticks } from "../logic/clock.js";
import { zoneOf } from "../logic/plan.js";
import { rowAt } from "../logic/rows/layout.js";
import { tickStep, xOf } from "../logic/scale.js";
import { nowMs, plan } from "../state.js";
import { laid, shown } from "./view.js";

/** The clock of the site at the top of the picture; it changes with the site as one scrolls. */
export function Axis({ width, scrollTop }: { width: number; scrollTop: Signal<number> }) {
  const current = plan.value;
  if (!current || width === 0) return <div class="axis" />;
  const site = (rowAt(laid.value.rows, scrollTop.value + 2)?.row ?? laid.value.rows[0]?.row)?.site ?? "";
  const zone = zoneOf(current, site);
  const view = { ...shown.value, widthPx: width };
  const marks = ticks(zone, view.fromMs, view.toMs, tickStep(view)).filter((tick) => {
    const x = xOf(view, tick.ms);
    return x > 16 && x < width - 16;
  });
  const days = [
    view.fromMs,
    ...ticks(zone, view.fromMs + 1, view.toMs, 60)
      .filter((tick) => tick.isMidnight)
      .map((tick) => tick.ms),
  ];
  const now = nowMs.value;
  return (
    <div class="axis">
      <div class="axis-head">
        <b>{current.sites.get(site)?.name}</b>
        <span class="quiet">{zone}</span>
      </div>
      <svg width={width} height={40} role="presentation" focusable="false">
        {days.map((ms, i) => {
          const x = Math.max(0, xOf(view, ms));
          const next = days[i + 1];
          if (next !== undefined && xOf(view, next) - x < 74) return null;
          return (
            <text key={ms} class="axis-day" x={x + 6} y={14}>
              {dayText(zone, ms + 1)}
            </text>
          );
        })}
        {days.slice(1).map((ms) => (
          <path key={ms} class="axis-midnight" d={`M${xOf(view, ms)} 2V40`} />
        ))}
        {marks.map((tick) => (
          <text key={tick.ms} class={tick.isMidnight ? "axis-hour strong" : "axis-hour"} x={xOf(view, tick.ms)} y={32}>
            {tick.text}
          </text>
        ))}
        {now >= view.fromMs && now <= view.toMs && (
          <g>
            <rect
              class="axis-now"
              x={Math.min(Math.max(xOf(view, now) - 24, 0), width - 48)}
              y={20}
              width={48}
              height={18}
              rx={4}
            />
            <text class="axis-now-text" x={Math.min(Math.max(xOf(view, now), 24), width - 24)} y={33}>
              {clockFace(zone, now)}
            </text>
          </g>
        )}
      </svg>
    </div>
  );
}
