import { hhmm, hhmmSpan } from "../../logic/clock.js";
import { shortNames } from "../../logic/names.js";
import { DOES, type Plan, type PlannedTask, zoneOf } from "../../logic/plan.js";
import type { LaidRow } from "../../logic/rows/layout.js";
import type { Bar } from "../../logic/rows/types.js";
import { type Viewport, xOf } from "../../logic/scale.js";
import { type Brush, LABEL, type Scene, SMALL } from "./brush.js";

export function paintBars(brush: Brush, scene: Scene, laid: LaidRow, y: number): void {
  const { view } = scene;
  for (const bar of laid.row.bars) {
    if (bar.toMs <= view.fromMs || bar.fromMs >= view.toMs) continue;
    paintBar(brush, scene, laid, bar, y);
  }
}

function paintBar(brush: Brush, scene: Scene, laid: LaidRow, bar: Bar, y: number): void {
  const { g, inks } = brush;
  const { view } = scene;
  const x = xOf(view, bar.fromMs);
  const width = Math.max(1.5, xOf(view, bar.toMs) - x - 0.75);
  const top = y + laid.lanesTop + bar.lane * laid.laneHeight + 0.5;
  const height = Math.max(2, bar.lanes * laid.laneHeight - 1);
  const task = bar.task;
  const isOwn =
    task !== undefined && (scene.load !== undefined ? task.load?.id === scene.load || isMixOf(scene, task) : true);
  g.globalAlpha = isOwn || scene.load === undefined || tripHas(scene, bar) ? 1 : 0.42;
  const dough = brush.doughs.get(task?.dough ?? "");
  if (task?.task.does === "clean") {
    paintCleaning(brush, x, top, width, height);
  } else {
    const radius = Math.min(3, height / 3, width / 2);
    g.fillStyle = dough?.fill ?? inks.clean;
    g.beginPath();
    g.roundRect(x, top, width, height, radius);
    g.fill();
    g.fillStyle = dough?.edge ?? inks.muted;
    g.beginPath();
    g.roundRect(x, top, Math.min(3, width), height, radius > 1 ? [radius, 0, 0, radius] : 0);
    g.fill();
    if (height >= 10) paintBarText(brush, scene, bar, x, top, width, height, dough?.mark);
    if (task?.task.dips && width > 30) paintDips(brush, view, task, top, height);
    if (task?.load && scene.late.has(task.load.id)) paintLateMark(brush, x + width, top, height);
  }
  if (task && (task.id === scene.selected || scene.marked.has(task.id))) {
    g.strokeStyle = task.id === scene.selected ? inks.select : inks.accent;
    g.lineWidth = 2;
    g.beginPath();
    g.roundRect(x - 1, top - 1, width + 2, height + 2, 3);
    g.stroke();
  }
  if (task) paintMarkedState(brush, scene.states.get(task.id), x, top, width, height);
  if (task && scene.plan.pins.has(task.id)) paintPin(brush, Math.max(x, 0) + Math.min(8, width / 2), top, height);
  g.globalAlpha = 1;
}

/** A pin that is stuck into the bar's upper edge. */
function paintPin(brush: Brush, x: number, top: number, height: number): void {
  const { g, inks } = brush;
  const length = Math.min(9, height);
  g.strokeStyle = inks.ink;
  g.lineWidth = 1.5;
  g.beginPath();
  g.moveTo(x, top + 1);
  g.lineTo(x, top + length);
  g.stroke();
  g.fillStyle = inks.ink;
  g.beginPath();
  g.arc(x, top + 1.5, 3, 0, 7);
  g.fill();
  g.strokeStyle = inks.paper;
  g.lineWidth = 1;
  g.stroke();
}

/** Begun: a strong line below. Finished: a line through, and paler. */
function paintMarkedState(
  brush: Brush,
  state: string | undefined,
  x: number,
  top: number,
  width: number,
  height: number,
): void {
  if (state !== "started" && state !== "finished") return;
  const { g, inks } = brush;
  if (state === "finished") {
    g.globalAlpha = 0.5;
    g.fillStyle = inks.paper;
    g.fillRect(x, top, width, height);
    g.globalAlpha = 1;
  }
  g.fillStyle = inks.good;
  g.fillRect(x, state === "started" ? top + height - 3 : top + height / 2 - 1, width, state === "started" ? 3 : 2);
}

function paintCleaning(brush: Brush, x: number, top: number, width: number, height: number): void {
  const { g, inks } = brush;
  g.save();
  g.beginPath();
  g.rect(x, top, width, height);
  g.clip();
  g.strokeStyle = inks.muted;
  g.lineWidth = 1;
  g.beginPath();
  for (let dx = 0; dx < width + height; dx += 4) {
    g.moveTo(x + dx, top);
    g.lineTo(x + dx - height, top + height);
  }
  g.stroke();
  g.strokeRect(x + 0.5, top + 0.5, width - 1, height - 1);
  g.restore();
}

/** The dips of a kettle as notches along its top. */
function paintDips(brush: Brush, view: Viewport, task: PlannedTask, top: number, height: number): void {
  const { g, inks } = brush;
  g.fillStyle = inks.barInk;
  for (const dip of task.task.dips ?? []) {
    const x = xOf(view, Date.parse(dip.start));
    g.fillRect(x, top, 1, Math.min(5, height / 3));
  }
}

function paintLateMark(brush: Brush, right: number, top: number, height: number): void {
  const { g, inks } = brush;
  const size = Math.min(8, height);
  g.fillStyle = inks.alarm;
  g.beginPath();
  g.moveTo(right - size, top);
  g.lineTo(right, top);
  g.lineTo(right, top + size);
  g.closePath();
  g.fill();
}

/** Room beside a bar's edge in which a line of text can stand upright, px. */
const UPWARDS = 5;

function paintBarText(
  brush: Brush,
  scene: Scene,
  bar: Bar,
  x: number,
  top: number,
  width: number,
  height: number,
  mark: string | undefined,
): void {
  const { g, inks } = brush;
  const from = Math.max(x, 0) + 5;
  const room = Math.min(x + width, scene.view.widthPx) - from - 2;
  if (room < UPWARDS) return;
  const font = height < 13 ? SMALL : LABEL;
  const texts = bar.task ? textsOf(scene.plan, bar.task, mark) : [bar.text ?? ""];
  const text = texts.find((candidate) => brush.width(candidate, font) <= room);
  g.textBaseline = "middle";
  g.fillStyle = inks.barInk;
  // Narrow and high: more can be said upwards.
  if (bar.task && height >= 27 && (text === undefined || text === mark)) {
    const upwards = texts.find((candidate) => brush.width(candidate, SMALL) <= height - 5);
    if (upwards !== undefined && upwards !== mark) {
      paintUpwards(brush, upwards, from - 1 + room / 2, top + height - 3);
      return;
    }
  }
  if (text === undefined) return;
  g.font = font;
  const isTall = height >= 27;
  g.fillText(text, from, top + (isTall ? height / 2 - 6.5 : height / 2 + 0.5));
  if (!isTall || !bar.task) return;
  const zone = zoneOf(scene.plan, bar.task.site);
  const second = [hhmmSpan(zone, bar), hhmm(zone, bar.fromMs)].find(
    (candidate) => brush.width(candidate, SMALL) <= room,
  );
  if (second === undefined) return;
  g.font = SMALL;
  g.fillText(second, from, top + height / 2 + 7);
}

function paintUpwards({ g }: Brush, text: string, x: number, bottom: number): void {
  g.save();
  g.translate(x, bottom);
  g.rotate(-Math.PI / 2);
  g.font = SMALL;
  g.fillText(text, 0, 0.5);
  g.restore();
}

function isMixOf(scene: Scene, task: PlannedTask): boolean {
  return task.task.does === "mix" && task.batch?.id === scene.plan.loads.get(scene.load ?? "")?.batch;
}

function tripHas(scene: Scene, bar: Bar): boolean {
  if (!bar.trip) return false;
  return (scene.plan.byLoad.get(scene.load ?? "") ?? []).some((task) => task.task.van === bar.trip);
}

/** What was thought of for a task; every frame asks for it. */
const known = new WeakMap<PlannedTask, readonly string[]>();

function textsOf(plan: Plan, task: PlannedTask, mark: string | undefined): readonly string[] {
  let texts = known.get(task);
  if (!texts) {
    texts = barTexts(plan, task, mark);
    known.set(task, texts);
  }
  return texts;
}

/** What a bar may say, the best first, each shorter than those before it. */
function barTexts(plan: Plan, task: PlannedTask, mark: string | undefined): string[] {
  const short = mark ? [mark] : [];
  if (task.load) {
    const name = task.product?.name ?? task.load.product;
    const does = task.task.does;
    const lead = does === "shape" || does === "top" || does === "pack" ? `${DOES[does]} ` : "";
    const { pieces } = task.load;
    const shorter = shortNames(name);
    return [
      `${lead}${pieces} ${name}`,
      `${pieces} ${name}`,
      ...shorter.slice(0, 1).map((one) => `${pieces} ${one}`),
      name,
      ...shorter,
      ...short,
    ];
  }
  if (task.batch) {
    const name = plan.doughNames.get(task.batch.dough) ?? task.batch.dough;
    return [`${name} ${(task.batch.massG / 1000).toFixed(1)} kg`, name, ...shortNames(name), ...short];
  }
  return [DOES[task.task.does]];
}
