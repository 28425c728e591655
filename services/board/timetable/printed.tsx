import { useLayoutEffect, useMemo, useRef } from "preact/hooks";
import { taskStates } from "../data/marks.js";
import { dayTime } from "../logic/clock.js";
import { zoneOf } from "../logic/plan.js";
import { type PrintedPage, printedPages } from "../logic/printed-pages.js";
import { stationRows } from "../logic/rows/stations.js";
import { lateLoads } from "../logic/summary.js";
import { forcePlan, nowMs, plan } from "../state.js";
import { doughInks, readInks } from "./inks.js";
import { Painter } from "./paint.js";
import { LABEL, type Pen, SMALL, STRONG } from "./painting/brush.js";
import { SvgPen } from "./painting/svg-pen.js";
import { marked, unfolded } from "./view.js";

/** A page lying on its side, px of the picture; what is drawn is stretched to the paper's width. */
const WIDTH = 1000;
const HEADS = 148;
const PAPER = { hours: 6, heightPx: 610, roomy: 1.5 };

function fitted(pen: Pen, text: string, room: number): string {
  if (pen.measureText(text).width <= room) return text;
  let length = text.length;
  while (length > 1 && pen.measureText(`${text.slice(0, length)}…`).width > room) length--;
  return `${text.slice(0, length).trimEnd()}…`;
}

/** The names of the rows, left of the picture. */
function paintHeads(pen: Pen, page: PrintedPage, ink: string, muted: string, line: string): void {
  pen.textAlign = "left";
  pen.textBaseline = "middle";
  for (const { row, top, height } of page.rows) {
    const left = row.isPart ? 14 : 0;
    const hasNote = height >= 38 && row.note !== "";
    pen.font = row.station === "site" ? STRONG : LABEL;
    pen.fillStyle = ink;
    pen.fillText(fitted(pen, row.name, HEADS - left - 8), left, top + height / 2 - (hasNote ? 7 : 0));
    if (hasNote) {
      pen.font = SMALL;
      pen.fillStyle = muted;
      pen.fillText(fitted(pen, row.note, HEADS - left - 8), left, top + height / 2 + 7);
    }
    pen.fillStyle = line;
    pen.fillRect(0, top + height - 1, HEADS, 1);
  }
}

function Page({ page, number, of }: { page: PrintedPage; number: number; of: number }) {
  const box = useRef<SVGSVGElement>(null);
  const current = plan.value!;
  const zone = zoneOf(current, page.rows[0]?.row.site ?? "");
  const late = useMemo(() => lateLoads(current), [current]);
  useLayoutEffect(() => {
    const inks = { ...readInks(document.documentElement), paper: "#fff" };
    const ruler = document.createElement("canvas").getContext("2d")!;
    const within = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    within.setAttribute("x", String(HEADS));
    within.setAttribute("width", String(WIDTH - HEADS));
    within.setAttribute("height", String(page.height));
    const painter = new Painter(new SvgPen(within, ruler), inks, doughInks(current.day.catalogue.doughs, false));
    painter.paint({
      plan: current,
      rows: page.rows,
      view: { ...page.span, widthPx: WIDTH - HEADS },
      scrollTop: 0,
      heightPx: page.height,
      nowMs: undefined,
      selected: undefined,
      load: undefined,
      marked: marked.value,
      late,
      states: taskStates.value,
      drag: undefined,
    });
    box.current!.replaceChildren(within);
    paintHeads(new SvgPen(box.current!, ruler), page, inks.ink, inks.muted, inks.line);
  }, [current, page]);
  return (
    <figure class="printed-page">
      <figcaption>
        <b>{current.day.settings.name}</b>: {dayTime(zone, page.span.fromMs)} to {dayTime(zone, page.span.toMs)}
        {current === forcePlan.value ? "" : ", not in force"}. Stations without anything in these hours are left out.{" "}
        <span>
          Printed {dayTime(zone, nowMs.value)}, {number} of {of}
        </span>
      </figcaption>
      <svg ref={box} viewBox={`0 0 ${WIDTH} ${page.height}`} role="presentation" focusable="false" />
    </figure>
  );
}

/** The whole timetable on paper: all hours and all sites, page by page. What is unfolded on the screen is unfolded here. */
export function PrintedTimetable() {
  const current = plan.value!;
  const pages = useMemo(
    () => printedPages(stationRows(current, unfolded.value, new Set()), current.span, PAPER),
    [current, unfolded.value],
  );
  return (
    <section class="printed" aria-label="Timetable, printed">
      {pages.map((page, i) => (
        <Page key={`${page.span.fromMs} ${i}`} page={page} number={i + 1} of={pages.length} />
      ))}
    </section>
  );
}
