import { type Level, levelAt } from "../../logic/levels.js";
import type { LaidRow } from "../../logic/rows/layout.js";
import type { Gauge, Heat } from "../../logic/rows/types.js";
import { type Viewport, xOf } from "../../logic/scale.js";
import { type Brush, type Scene, SMALL } from "./brush.js";

/** A staircase as a filled shape between the base line and its steps. */
function paintStairs(brush: Brush, view: Viewport, levels: readonly Level[], baseY: number, perUnit: number): void {
  const { g } = brush;
  g.beginPath();
  g.moveTo(0, baseY);
  g.lineTo(0, baseY - levelAt(levels, view.fromMs) * perUnit);
  for (let i = 0; i < levels.length; i++) {
    const { ms, used } = levels[i]!;
    if (ms <= view.fromMs) continue;
    if (ms >= view.toMs) break;
    const x = xOf(view, ms);
    g.lineTo(x, baseY - levelAt(levels, ms - 1) * perUnit);
    g.lineTo(x, baseY - used * perUnit);
  }
  g.lineTo(view.widthPx, baseY - levelAt(levels, view.toMs - 1) * perUnit);
  g.lineTo(view.widthPx, baseY);
  g.closePath();
}

export function paintGauge(brush: Brush, scene: Scene, laid: LaidRow, y: number, gauge: Gauge): void {
  const { g, inks } = brush;
  const { view } = scene;
  const top = y + laid.lanesTop;
  const inner = laid.height - 2 * laid.lanesTop - 1;
  const baseY = top + inner;
  const perUnit = inner / Math.max(1, gauge.most);
  g.fillStyle = inks.room;
  paintStairs(brush, view, gauge.room, baseY, perUnit);
  g.fill();
  g.fillStyle = inks.used;
  paintStairs(brush, view, gauge.levels, baseY, perUnit);
  g.fill();
  g.strokeStyle = inks.full;
  g.lineWidth = 2.5;
  g.beginPath();
  const marks = [...gauge.levels.map((level) => level.ms), ...gauge.room.map((level) => level.ms), view.toMs].sort(
    (a, b) => a - b,
  );
  let at = view.fromMs;
  const full: { x0: number; x1: number; y: number }[] = [];
  for (const ms of marks) {
    if (ms <= at) continue;
    const room = levelAt(gauge.room, at);
    if (room > 0 && levelAt(gauge.levels, at) >= room) {
      const lineY = baseY - room * perUnit + 1;
      const [x0, x1] = [xOf(view, at), xOf(view, Math.min(ms, view.toMs))];
      g.moveTo(x0, lineY);
      g.lineTo(x1, lineY);
      const last = full.at(-1);
      if (last && last.x1 === x0 && last.y === lineY) last.x1 = x1;
      else full.push({ x0, x1, y: lineY });
    }
    at = ms;
    if (at >= view.toMs) break;
  }
  g.stroke();
  // Said as well, for whoever cannot tell the colour.
  if (inner >= 20) for (const { x0, x1, y: lineY } of full) paintFull(brush, view, x0, x1, lineY);
  if (scene.load) paintOwnShare(brush, scene, laid, baseY, perUnit);
}

function paintFull(brush: Brush, view: Viewport, x0: number, x1: number, lineY: number): void {
  const { g, inks } = brush;
  const chip = brush.width("full", SMALL) + 8;
  const from = Math.max(0, x0) + 4;
  if (Math.min(x1, view.widthPx) - from < chip + 4) return;
  g.fillStyle = inks.paper;
  g.fillRect(from, lineY + 2, chip, 13);
  g.font = SMALL;
  g.textBaseline = "middle";
  g.fillStyle = inks.full;
  g.fillText("full", from + 4, lineY + 9);
}

/** Where the highlighted load is among what stands there. */
function paintOwnShare(brush: Brush, scene: Scene, laid: LaidRow, baseY: number, perUnit: number): void {
  const { g, inks } = brush;
  for (const task of scene.plan.byLoad.get(scene.load!) ?? []) {
    const own = (task.task.places ?? []).filter(
      (place) => place.unit === laid.row.id || place.unit.startsWith(`${laid.row.id}/`),
    ).length;
    const crew = laid.row.id === `${task.site}/~crew/${task.task.crew?.group}` ? task.task.crew!.heads : 0;
    if (own + crew === 0) continue;
    const x = xOf(scene.view, task.fromMs);
    const height = Math.max(4, (own + crew) * perUnit);
    g.fillStyle = inks.select;
    g.fillRect(x, baseY - height, Math.max(2, xOf(scene.view, task.toMs) - x), height);
  }
}

export function paintHeats(brush: Brush, scene: Scene, laid: LaidRow, y: number): void {
  const { view } = scene;
  const height = laid.ribbon - 3;
  const top = y + laid.height - laid.ribbon;
  for (const heat of laid.row.heats ?? []) paintHeat(brush, view, heat, top, height);
}

function paintHeat(brush: Brush, view: Viewport, heat: Heat, top: number, height: number): void {
  const { g, inks } = brush;
  const x0 = xOf(view, heat.fromMs);
  const xHot = xOf(view, heat.hotMs);
  const x1 = xOf(view, heat.toMs);
  if (x1 < 0 || x0 > view.widthPx) return;
  g.fillStyle = inks.warming;
  g.beginPath();
  g.moveTo(x0, top + height);
  g.lineTo(xHot, top);
  g.lineTo(xHot, top + height);
  g.closePath();
  g.fill();
  g.fillStyle = inks.hot;
  g.fillRect(xHot, top, Math.max(0, x1 - xHot - 1), height);
  if (heat.tempC === undefined || height < 9) return;
  const text = `${heat.tempC}°`;
  g.font = SMALL;
  g.textBaseline = "middle";
  const at = Math.max(xHot, 0) + 3;
  if (Math.min(x1, view.widthPx) - at < brush.width(text, SMALL) + 2) return;
  g.fillStyle = inks.hotInk;
  g.fillText(text, at, top + height / 2 + 0.5);
}
