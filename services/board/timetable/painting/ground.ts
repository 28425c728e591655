import { clockChanges, nights, type Span, ticks } from "../../logic/clock.js";
import { zoneOf } from "../../logic/plan.js";
import type { LaidRow } from "../../logic/rows/layout.js";
import { tickStep, type Viewport, xOf } from "../../logic/scale.js";
import { type Brush, type Scene, SMALL, STRONG } from "./brush.js";

/** Night, hours, what is out of service, and the line below a row. */
export function paintGround(brush: Brush, scene: Scene, laid: LaidRow, y: number): void {
  const { g, inks } = brush;
  const { view } = scene;
  const zone = zoneOf(scene.plan, laid.row.site);
  if (laid.row.station === "site") {
    g.fillStyle = inks.band;
    g.fillRect(0, y, view.widthPx, laid.height);
    paintSiteClock(brush, scene, zone, y, laid.height);
    g.fillStyle = inks.lineStrong;
    g.fillRect(0, y + laid.height - 1, view.widthPx, 1);
    return;
  }
  g.fillStyle = inks.night;
  for (const night of nights(zone, view.fromMs, view.toMs)) {
    const x = xOf(view, night.fromMs);
    g.fillRect(x, y, xOf(view, night.toMs) - x, laid.height);
  }
  for (const tick of ticks(zone, view.fromMs, view.toMs, tickStep(view))) {
    g.fillStyle = tick.isMidnight ? inks.lineStrong : inks.line;
    g.fillRect(Math.round(xOf(view, tick.ms)), y, 1, laid.height);
  }
  for (const span of laid.row.out) paintHatched(brush, view, span, y, laid.height);
  if (laid.row.lanesArePositions && laid.laneHeight >= 11 && !laid.row.gauge) {
    g.fillStyle = inks.line;
    for (let lane = 1; lane < laid.row.laneCount; lane++)
      g.fillRect(0, Math.round(y + laid.lanesTop + lane * laid.laneHeight), view.widthPx, 1);
  }
  g.fillStyle = inks.line;
  g.fillRect(0, y + laid.height - 1, view.widthPx, 1);
}

function paintSiteClock(brush: Brush, scene: Scene, zone: string, y: number, height: number): void {
  const { g, inks } = brush;
  const { view } = scene;
  g.font = SMALL;
  g.textBaseline = "middle";
  g.textAlign = "center";
  for (const tick of ticks(zone, view.fromMs, view.toMs, tickStep(view))) {
    const x = xOf(view, tick.ms);
    if (x < 18 || x > view.widthPx - 18) continue;
    g.fillStyle = tick.isMidnight ? inks.ink : inks.muted;
    g.fillText(tick.text, x, y + height / 2);
  }
  for (const change of clockChanges(zone, view.fromMs, view.toMs)) {
    const x = xOf(view, change.ms);
    g.fillStyle = inks.alarm;
    g.fillRect(Math.round(x) - 1, y, 2, height);
    g.textAlign = "left";
    const text = `clocks ${change.minutes > 0 ? "forward" : "back"} ${Math.abs(change.minutes)} min`;
    g.fillStyle = inks.band;
    g.fillRect(x + 3, y + 4, brush.width(text, SMALL) + 6, height - 8);
    g.fillStyle = inks.alarm;
    g.fillText(text, x + 6, y + height / 2);
    g.textAlign = "center";
  }
  g.textAlign = "left";
}

function paintHatched(brush: Brush, view: Viewport, span: Span, y: number, height: number): void {
  const { g, inks } = brush;
  const x0 = Math.max(0, xOf(view, span.fromMs));
  const x1 = Math.min(view.widthPx, xOf(view, span.toMs));
  if (x1 <= x0) return;
  g.save();
  g.beginPath();
  g.rect(x0, y, x1 - x0, height);
  g.clip();
  g.globalAlpha = 0.16;
  g.fillStyle = inks.alarm;
  g.fillRect(x0, y, x1 - x0, height);
  g.globalAlpha = 0.55;
  g.strokeStyle = inks.alarm;
  g.lineWidth = 1.5;
  g.beginPath();
  for (let x = x0 - height - (x0 % 9); x < x1; x += 9) {
    g.moveTo(x, y + height);
    g.lineTo(x + height, y);
  }
  g.stroke();
  g.globalAlpha = 1;
  if (x1 - x0 > 96) {
    g.font = STRONG;
    g.textBaseline = "middle";
    g.fillStyle = inks.paper;
    g.fillRect(x0 + 6, y + height / 2 - 8, brush.width("out of service", STRONG) + 10, 16);
    g.fillStyle = inks.alarm;
    g.fillText("out of service", x0 + 11, y + height / 2);
  }
  g.restore();
}
