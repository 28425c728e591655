import { hhmm } from "../../logic/clock.js";
import { type PlannedTask, zoneOf } from "../../logic/plan.js";
import type { LaidRow } from "../../logic/rows/layout.js";
import { xOf } from "../../logic/scale.js";
import { type Brush, type Scene, STRONG } from "./brush.js";

/** The way of the highlighted load through the rows, from its mix to its last task. */
export function paintThread(brush: Brush, scene: Scene): void {
  const { g, inks } = brush;
  const points: { x0: number; x1: number; y: number }[] = [];
  const load = scene.plan.loads.get(scene.load!);
  const mix = scene.plan.mixOf.get(load?.batch ?? "");
  const way = [...(mix ? [mix] : []), ...(scene.plan.byLoad.get(scene.load!) ?? [])];
  for (const task of way) {
    const laid = scene.rows.find((row) => touches(row, task));
    if (!laid) continue;
    const bar = laid.row.bars.find(
      (candidate) =>
        candidate.task?.id === task.id || (candidate.trip !== undefined && candidate.trip === task.task.van),
    );
    const y = bar
      ? laid.top + laid.lanesTop + (bar.lane + bar.lanes / 2) * laid.laneHeight
      : laid.top + laid.height - 8;
    points.push({ x0: xOf(scene.view, task.fromMs), x1: xOf(scene.view, task.toMs), y: y - scene.scrollTop });
  }
  g.strokeStyle = inks.select;
  g.lineWidth = 1.75;
  g.lineJoin = "round";
  g.setLineDash([5, 3]);
  g.beginPath();
  points.forEach((point, i) => {
    if (i === 0) g.moveTo(point.x1, point.y);
    else {
      const before = points[i - 1]!;
      const middle = (before.x1 + point.x0) / 2;
      g.bezierCurveTo(middle, before.y, middle, point.y, point.x0, point.y);
      g.moveTo(point.x1, point.y);
    }
  });
  g.stroke();
  g.setLineDash([]);
}

export function paintGhost(brush: Brush, scene: Scene): void {
  const { g, inks } = brush;
  const drag = scene.drag!;
  const laid = scene.rows.find((row) => row.row.id === drag.row);
  if (!laid) return;
  const colour = drag.isAllowed === false ? inks.alarm : inks.select;
  const x = xOf(scene.view, drag.fromMs);
  const width = xOf(scene.view, drag.toMs) - x;
  const top = laid.top - scene.scrollTop + laid.lanesTop;
  const height = laid.height - 2 * laid.lanesTop - laid.ribbon;
  g.strokeStyle = colour;
  g.lineWidth = 2;
  g.setLineDash(drag.isAllowed === false ? [3, 3] : []);
  g.strokeRect(x, top, width, height);
  g.setLineDash([]);
  g.globalAlpha = 0.15;
  g.fillStyle = colour;
  g.fillRect(x, top, width, height);
  g.globalAlpha = 1;
  const task = scene.plan.byId.get(drag.task);
  const text = `${hhmm(zoneOf(scene.plan, task?.site ?? ""), drag.fromMs)}`;
  g.font = STRONG;
  const chip = brush.width(text, STRONG) + 10;
  g.fillStyle = colour;
  g.fillRect(x, top - 17, chip, 16);
  g.fillStyle = inks.paper;
  g.textBaseline = "middle";
  g.fillText(text, x + 5, top - 8.5);
}

export function paintNow(brush: Brush, scene: Scene): void {
  if (scene.nowMs === undefined || scene.nowMs < scene.view.fromMs || scene.nowMs > scene.view.toMs) return;
  const { g, inks } = brush;
  g.fillStyle = inks.accent;
  g.fillRect(Math.round(xOf(scene.view, scene.nowMs)) - 1, 0, 2, scene.heightPx);
}

function touches(laid: LaidRow, task: PlannedTask): boolean {
  const { row } = laid;
  if (row.station === "crew" || row.station === "site") return false;
  if (row.station === "van") return task.task.van !== undefined && row.bars.some((bar) => bar.trip === task.task.van);
  if (row.station === "fridge" && row.isUnfolded) return false;
  if (task.task.unit === row.id) return true;
  return (task.task.places ?? []).some((place) => place.unit === row.id || place.unit.startsWith(`${row.id}/`));
}
