import { useComputed, useSignal, useSignalEffect } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { taskStates } from "../data/marks.js";
import { barAt, rowAt } from "../logic/rows/layout.js";
import { msAt, panned, type Viewport, zoomed } from "../logic/scale.js";
import { lateLoads } from "../logic/summary.js";
import { isDark, nowMs, plan } from "../state.js";
import { Axis } from "./axis.js";
import { beginDrag, dragging, dropDrag, moveDrag } from "./drag.js";
import { RowHeads } from "./heads.js";
import { doughInks, readInks } from "./inks.js";
import { onPictureKey, pick } from "./keys.js";
import { Overview } from "./overview.js";
import { Painter } from "./paint.js";
import { textAt } from "./say.js";
import { day, frameWay, laid, marked, pan, picked, pickedLoad, shown, toggleRow, zoom } from "./view.js";

interface Pointer {
  readonly startX: number;
  readonly startY: number;
  readonly task: string | undefined;
  readonly grabMs: number;
  lastX: number;
  mode: "undecided" | "panning" | "dragging";
}

/** The timetable: a canvas for what is many, plain elements for what is clicked, typed or read out. */
export function TimetableView() {
  const canvas = useRef<HTMLCanvasElement>(null);
  const scroller = useRef<HTMLDivElement>(null);
  const size = useSignal({ width: 0, height: 0 });
  const scrollTop = useSignal(0);
  const hover = useSignal<{ x: number; y: number; text: string } | undefined>(undefined);
  const faces = useSignal(0);
  const late = useComputed(() => (plan.value ? lateLoads(plan.value) : new Set<string>()));
  const painter = useRef<Painter | undefined>(undefined);
  const frame = useRef(0);
  const pointers = useRef(new Map<number, { x: number; y: number }>());
  const pointer = useRef<Pointer | undefined>(undefined);

  const view = (): Viewport => ({ ...shown.value, widthPx: size.value.width });

  useEffect(() => {
    const element = canvas.current!;
    const watch = new ResizeObserver(() => {
      const box = element.parentElement!.getBoundingClientRect();
      const height = scroller.current?.clientHeight ?? 0;
      size.value = { width: Math.max(50, Math.floor(box.width)), height: Math.max(50, height) };
    });
    watch.observe(element.parentElement!);
    watch.observe(scroller.current!);
    void document.fonts.ready.then(() => {
      painter.current?.forgetWidths();
      faces.value += 1;
    });
    return () => watch.disconnect();
  }, []);

  useSignalEffect(() => {
    // Reading the signals here is what makes the picture follow them.
    const scene = {
      plan: plan.value,
      rows: laid.value.rows,
      view: { ...shown.value, widthPx: size.value.width },
      scrollTop: scrollTop.value,
      heightPx: size.value.height,
      nowMs: nowMs.value,
      selected: picked.value,
      load: pickedLoad.value,
      marked: marked.value,
      late: late.value,
      states: taskStates.value,
      drag: dragging.value,
    };
    const dark = isDark.value;
    void faces.value;
    cancelAnimationFrame(frame.current);
    frame.current = requestAnimationFrame(() => {
      const element = canvas.current;
      if (!element || !scene.plan || scene.view.widthPx === 0) return;
      const ratio = devicePixelRatio || 1;
      const width = Math.round(scene.view.widthPx * ratio);
      const height = Math.round(scene.heightPx * ratio);
      if (element.width !== width || element.height !== height) {
        element.width = width;
        element.height = height;
      }
      const g = element.getContext("2d", { alpha: false })!;
      g.setTransform(ratio, 0, 0, ratio, 0, 0);
      const inks = readInks(document.documentElement);
      const doughs = doughInks(scene.plan.day.catalogue.doughs, dark);
      if (painter.current) painter.current.setInks(inks, doughs);
      else painter.current = new Painter(g, inks, doughs);
      painter.current.paint({ ...scene, plan: scene.plan });
    });
  });

  const place = (event: { clientX: number; clientY: number }) => {
    const box = canvas.current!.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  };

  const at = (x: number, y: number) => {
    const row = rowAt(laid.value.rows, y + scrollTop.value);
    const ms = msAt(view(), x);
    const slack = (4 / size.value.width) * (shown.value.toMs - shown.value.fromMs);
    const bar = row ? barAt(row, ms, y + scrollTop.value - row.top, slack) : undefined;
    return { row, ms, bar };
  };

  const hoverText = (x: number, y: number): string => {
    const { row, ms, bar } = at(x, y);
    return plan.value && row ? textAt(plan.value, row.row, ms, bar) : "";
  };

  const onPointerDown = (event: PointerEvent) => {
    if (event.button !== 0) return;
    const { x, y } = place(event);
    pointers.current.set(event.pointerId, { x, y });
    canvas.current!.setPointerCapture(event.pointerId);
    const { bar, ms } = at(x, y);
    pointer.current = {
      startX: x,
      startY: y,
      task: bar?.task?.id,
      grabMs: ms - (bar?.task?.fromMs ?? ms),
      lastX: x,
      mode: "undecided",
    };
  };

  const pinch = (event: PointerEvent, x: number, y: number): void => {
    const other = [...pointers.current].find(([id]) => id !== event.pointerId)![1];
    const before = pointers.current.get(event.pointerId)!;
    const was = Math.max(20, Math.abs(before.x - other.x));
    const is = Math.max(20, Math.abs(x - other.x));
    shown.value = zoomed(shown.value, was / is, msAt(view(), (x + other.x) / 2), day.value);
    pointers.current.set(event.pointerId, { x, y });
    pointer.current = undefined;
  };

  const onPointerMove = (event: PointerEvent) => {
    const { x, y } = place(event);
    if (pointers.current.size === 2 && pointers.current.has(event.pointerId)) return pinch(event, x, y);
    const current = pointer.current;
    if (!current) {
      const text = event.pointerType === "mouse" ? hoverText(x, y) : "";
      hover.value = text === "" ? undefined : { x, y, text };
      return;
    }
    hover.value = undefined;
    if (current.mode === "undecided" && Math.abs(x - current.startX) + Math.abs(y - current.startY) > 5) {
      const canDrag = current.task !== undefined && event.pointerType === "mouse" && beginDrag(current.task);
      current.mode = canDrag ? "dragging" : "panning";
      if (canDrag) pick(current.task);
    }
    if (current.mode === "dragging") moveDrag(msAt(view(), x) - current.grabMs, at(x, y).row?.row);
    if (current.mode === "panning") {
      const span = shown.value;
      shown.value = panned(span, ((current.lastX - x) / size.value.width) * (span.toMs - span.fromMs), day.value);
      if (event.pointerType === "mouse" && scroller.current) scroller.current.scrollTop -= event.movementY;
    }
    current.lastX = x;
  };

  const onPointerUp = (event: PointerEvent) => {
    pointers.current.delete(event.pointerId);
    const current = pointer.current;
    pointer.current = undefined;
    if (!current) return;
    if (current.mode === "dragging") void dropDrag();
    if (current.mode === "undecided") pick(current.task);
  };

  const onWheel = (event: WheelEvent) => {
    if (event.ctrlKey || event.metaKey) {
      event.preventDefault();
      zoom(Math.exp(event.deltaY * (event.deltaMode === 1 ? 0.06 : 0.0022)), msAt(view(), place(event).x));
    } else if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
      event.preventDefault();
      pan((event.shiftKey && event.deltaX === 0 ? event.deltaY : event.deltaX) / size.value.width);
    }
  };

  useEffect(() => {
    const element = canvas.current!;
    element.addEventListener("wheel", onWheel, { passive: false });
    return () => element.removeEventListener("wheel", onWheel);
  }, []);

  const onKeyDown = (event: KeyboardEvent) => {
    if (scroller.current && onPictureKey(event, scroller.current)) event.preventDefault();
  };

  const onDoubleClick = (event: MouseEvent) => {
    const { x, y } = place(event);
    const { bar, ms, row } = at(x, y);
    if (bar?.task?.load) frameWay(bar.task.load.id);
    else if (row?.row.canUnfold && row.row.gauge) toggleRow(row.row.id, false);
    else zoom(0.5, ms);
  };

  return (
    <div class="timetable">
      <Overview />
      <Axis width={size.value.width} scrollTop={scrollTop} />
      <div
        class="rows"
        ref={scroller}
        onScroll={() => {
          scrollTop.value = scroller.current?.scrollTop ?? 0;
        }}
      >
        <div class="rows-inner" style={{ height: `${laid.value.height}px` }}>
          <RowHeads />
          <div class="picture-column">
            <div
              class="picture"
              style={{ height: `${size.value.height}px` }}
              role="application"
              // biome-ignore lint/a11y/noNoninteractiveTabindex: the picture is operated with the keys that its label names
              tabIndex={0}
              aria-label="Timetable. Arrow keys go from task to task, plus and minus zoom, shift with arrows moves the view, n shows now, p pins the task, Enter opens the task. The same is there as lists under Sheets."
              onKeyDown={onKeyDown}
            >
              <canvas
                ref={canvas}
                onPointerDown={onPointerDown}
                onPointerMove={onPointerMove}
                onPointerUp={onPointerUp}
                onPointerCancel={onPointerUp}
                onPointerLeave={() => {
                  hover.value = undefined;
                }}
                onDblClick={onDoubleClick}
              />
              {hover.value && (
                <div
                  class="hover"
                  aria-hidden="true"
                  style={{
                    left: `${Math.min(hover.value.x + 14, Math.max(0, size.value.width - 270))}px`,
                    top: `${hover.value.y + 18 > size.value.height - 60 ? hover.value.y - 52 : hover.value.y + 18}px`,
                  }}
                >
                  {hover.value.text}
                </div>
              )}
            </div>
          </div>
        </div>
      </div>
    </div>
  );
}
