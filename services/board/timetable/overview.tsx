import { useSignal } from "@preact/signals";
import { useEffect, useMemo, useRef } from "preact/hooks";
import { msOf, nights } from "../logic/clock.js";
import { mostIn, staircase } from "../logic/levels.js";
import { msAt, panned, within, xOf } from "../logic/scale.js";
import { nowMs, plan } from "../state.js";
import { day, shown } from "./view.js";

const HEIGHT = 34;

/** The whole day at a glance: how many pans bake, when orders are due, which part is on the screen. Drag to go elsewhere. */
export function Overview() {
  const box = useRef<HTMLDivElement>(null);
  const width = useSignal(0);
  const grip = useRef<{ x: number; edge: "from" | "to" | "both" } | undefined>(undefined);
  useEffect(() => {
    const watch = new ResizeObserver((entries) => {
      width.value = Math.floor(entries[0]!.contentRect.width);
    });
    watch.observe(box.current!);
    return () => watch.disconnect();
  }, []);
  const current = plan.value;
  const baking = useMemo(
    () =>
      staircase(
        (current?.tasks ?? [])
          .filter((task) => task.task.does === "bake")
          .map((task) => ({ fromMs: task.fromMs, toMs: task.toMs, amount: task.load?.pans ?? 1 })),
      ),
    [current],
  );
  const whole = { ...day.value, widthPx: width.value };
  const peak = Math.max(1, ...baking.map((level) => level.used));
  const bins = Math.max(1, Math.floor(width.value / 4));
  const bars = Array.from(
    { length: bins },
    (_, i) => mostIn(baking, msAt(whole, i * 4), msAt(whole, i * 4 + 4)) / peak,
  );
  const x0 = xOf(whole, shown.value.fromMs);
  const x1 = xOf(whole, shown.value.toMs);
  const due = new Map<number, boolean>();
  for (const order of current?.timetable.orders ?? []) {
    const x = Math.round(xOf(whole, msOf(order.due)) / 3) * 3;
    due.set(x, (due.get(x) ?? false) || order.state !== "on-time");
  }
  const zone = current?.day.network.sites[0]?.timeZone ?? "UTC";

  const onDown = (event: PointerEvent) => {
    const x = event.clientX - box.current!.getBoundingClientRect().left;
    box.current!.setPointerCapture(event.pointerId);
    const edge = Math.abs(x - x0) < 7 ? "from" : Math.abs(x - x1) < 7 ? "to" : "both";
    if (edge === "both" && (x < x0 || x > x1)) {
      const length = shown.value.toMs - shown.value.fromMs;
      shown.value = within({ fromMs: msAt(whole, x) - length / 2, toMs: msAt(whole, x) + length / 2 }, day.value);
    }
    grip.current = { x, edge };
  };
  const onMove = (event: PointerEvent) => {
    if (!grip.current) return;
    const x = event.clientX - box.current!.getBoundingClientRect().left;
    const byMs = msAt(whole, x) - msAt(whole, grip.current.x);
    const span = shown.value;
    if (grip.current.edge === "both") shown.value = panned(span, byMs, day.value);
    else if (grip.current.edge === "from" && span.fromMs + byMs < span.toMs - 300_000)
      shown.value = { fromMs: Math.max(day.value.fromMs, span.fromMs + byMs), toMs: span.toMs };
    else if (grip.current.edge === "to" && span.toMs + byMs > span.fromMs + 300_000)
      shown.value = { fromMs: span.fromMs, toMs: Math.min(day.value.toMs, span.toMs + byMs) };
    grip.current.x = x;
  };

  return (
    <div class="overview">
      <div class="overview-head quiet small">Whole day</div>
      <div
        class="overview-box"
        ref={box}
        onPointerDown={onDown}
        onPointerMove={onMove}
        onPointerUp={() => {
          grip.current = undefined;
        }}
      >
        {width.value > 0 && (
          <svg width={width.value} height={HEIGHT} role="presentation" focusable="false">
            {nights(zone, whole.fromMs, whole.toMs).map((night) => (
              <rect
                key={night.fromMs}
                class="ov-night"
                x={xOf(whole, night.fromMs)}
                width={xOf(whole, night.toMs) - xOf(whole, night.fromMs)}
                y={0}
                height={HEIGHT}
              />
            ))}
            <path
              class="ov-busy"
              d={bars
                .map((share, i) => (share > 0 ? `M${i * 4} ${HEIGHT - 5}h3v${-share * (HEIGHT - 9)}h-3z` : ""))
                .join("")}
            />
            {[...due].map(([x, isWanting]) => (
              <path
                key={x}
                class={isWanting ? "ov-due wanting" : "ov-due"}
                d={isWanting ? `M${x - 3.5} ${HEIGHT}l3.5 -8l3.5 8z` : `M${x} ${HEIGHT}v-4`}
              />
            ))}
            <rect class="ov-dim" x={0} y={0} width={Math.max(0, x0)} height={HEIGHT} />
            <rect class="ov-dim" x={x1} y={0} width={Math.max(0, width.value - x1)} height={HEIGHT} />
            <rect class="ov-window" x={x0 + 1} y={1} width={Math.max(4, x1 - x0 - 2)} height={HEIGHT - 2} rx={4} />
            {nowMs.value > whole.fromMs && nowMs.value < whole.toMs && (
              <path class="ov-now" d={`M${xOf(whole, nowMs.value)} 0v${HEIGHT}`} />
            )}
          </svg>
        )}
      </div>
    </div>
  );
}
