import { clockChanges, hhmm, nights, type Span, ticks } from "../logic/clock.js";
import { type Level, levelAt } from "../logic/levels.js";
import type { Plan, PlannedTask } from "../logic/plan.js";
import { DOES, zoneOf } from "../logic/plan.js";
import type { LaidRow } from "../logic/rows/layout.js";
import type { Bar, Gauge, Heat } from "../logic/rows/types.js";
import { tickStep, type Viewport, xOf } from "../logic/scale.js";
import type { DoughInk, Inks } from "./inks.js";

export interface Scene {
  readonly plan: Plan;
  readonly rows: readonly LaidRow[];
  readonly view: Viewport;
  readonly scrollTop: number;
  readonly heightPx: number;
  readonly nowMs: number | undefined;
  readonly selected: string | undefined;
  readonly load: string | undefined;
  readonly marked: ReadonlySet<string>;
  readonly late: ReadonlySet<string>;
  /** What the stations marked, by task. */
  readonly states: ReadonlyMap<string, "waiting" | "started" | "finished">;
  readonly drag:
    | {
        readonly task: string;
        readonly row: string;
        readonly fromMs: number;
        readonly toMs: number;
        readonly isAllowed: boolean | undefined;
      }
    | undefined;
}

const FACE = '"Atkinson Hyperlegible Next Variable", system-ui, sans-serif';
const SMALL = `500 10.5px ${FACE}`;
const LABEL = `550 11.5px ${FACE}`;
const STRONG = `700 11.5px ${FACE}`;

/** Draws the visible part of the timetable. Knows pixels and inks, decides nothing. */
export class Painter {
  private readonly g: CanvasRenderingContext2D;
  private readonly widths = new Map<string, number>();
  private inks: Inks;
  private doughs: Map<string, DoughInk>;

  constructor(g: CanvasRenderingContext2D, inks: Inks, doughs: Map<string, DoughInk>) {
    this.g = g;
    this.inks = inks;
    this.doughs = doughs;
  }

  setInks(inks: Inks, doughs: Map<string, DoughInk>): void {
    this.inks = inks;
    this.doughs = doughs;
  }

  /** Widths depend on the face, which may arrive late. */
  forgetWidths(): void {
    this.widths.clear();
  }

  paint(scene: Scene): void {
    const { g } = this;
    const { view, scrollTop, heightPx } = scene;
    g.fillStyle = this.inks.paper;
    g.fillRect(0, 0, view.widthPx, heightPx);
    const shown = scene.rows.filter((row) => row.top + row.height > scrollTop && row.top < scrollTop + heightPx);
    for (const row of shown) this.ground(scene, row, row.top - scrollTop);
    for (const row of shown) {
      const y = row.top - scrollTop;
      if (row.row.station === "site") continue;
      if (row.row.gauge) this.gauge(scene, row, y, row.row.gauge);
      if (row.row.heats) this.heats(scene, row, y);
      this.bars(scene, row, y);
    }
    if (scene.load) this.thread(scene);
    if (scene.drag) this.ghost(scene);
    this.now(scene);
  }

  /** Night, hours, what is out of service, and the line below a row. */
  private ground(scene: Scene, laid: LaidRow, y: number): void {
    const { g, inks } = this;
    const { view } = scene;
    const zone = zoneOf(scene.plan, laid.row.site);
    if (laid.row.station === "site") {
      g.fillStyle = inks.band;
      g.fillRect(0, y, view.widthPx, laid.height);
      this.siteClock(scene, zone, y, laid.height);
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
    for (const span of laid.row.out) this.hatched(view, span, y, laid.height);
    if (laid.row.lanesArePositions && laid.laneHeight >= 11 && !laid.row.gauge) {
      g.fillStyle = inks.line;
      for (let lane = 1; lane < laid.row.laneCount; lane++)
        g.fillRect(0, Math.round(y + laid.lanesTop + lane * laid.laneHeight), view.widthPx, 1);
    }
    g.fillStyle = inks.line;
    g.fillRect(0, y + laid.height - 1, view.widthPx, 1);
  }

  private siteClock(scene: Scene, zone: string, y: number, height: number): void {
    const { g, inks } = this;
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
      g.fillRect(x + 3, y + 4, this.width(text, SMALL) + 6, height - 8);
      g.fillStyle = inks.alarm;
      g.fillText(text, x + 6, y + height / 2);
      g.textAlign = "center";
    }
    g.textAlign = "left";
  }

  private hatched(view: Viewport, span: Span, y: number, height: number): void {
    const { g, inks } = this;
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
      g.fillRect(x0 + 6, y + height / 2 - 8, this.width("out of service", STRONG) + 10, 16);
      g.fillStyle = inks.alarm;
      g.fillText("out of service", x0 + 11, y + height / 2);
    }
    g.restore();
  }

  /** A staircase as a filled shape between the base line and its steps. */
  private stairs(view: Viewport, levels: readonly Level[], baseY: number, perUnit: number): void {
    const { g } = this;
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

  private gauge(scene: Scene, laid: LaidRow, y: number, gauge: Gauge): void {
    const { g, inks } = this;
    const { view } = scene;
    const top = y + laid.lanesTop;
    const inner = laid.height - 2 * laid.lanesTop - 1;
    const baseY = top + inner;
    const perUnit = inner / Math.max(1, gauge.most);
    g.fillStyle = inks.room;
    this.stairs(view, gauge.room, baseY, perUnit);
    g.fill();
    g.fillStyle = inks.used;
    this.stairs(view, gauge.levels, baseY, perUnit);
    g.fill();
    g.strokeStyle = inks.full;
    g.lineWidth = 2.5;
    g.beginPath();
    const marks = [...gauge.levels.map((level) => level.ms), ...gauge.room.map((level) => level.ms), view.toMs].sort(
      (a, b) => a - b,
    );
    let at = view.fromMs;
    for (const ms of marks) {
      if (ms <= at) continue;
      const room = levelAt(gauge.room, at);
      if (room > 0 && levelAt(gauge.levels, at) >= room) {
        const lineY = baseY - room * perUnit + 1;
        g.moveTo(xOf(view, at), lineY);
        g.lineTo(xOf(view, Math.min(ms, view.toMs)), lineY);
      }
      at = ms;
      if (at >= view.toMs) break;
    }
    g.stroke();
    if (scene.load) this.ownShare(scene, laid, baseY, perUnit);
  }

  /** Where the highlighted load is among what stands there. */
  private ownShare(scene: Scene, laid: LaidRow, baseY: number, perUnit: number): void {
    const { g, inks } = this;
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

  private heats(scene: Scene, laid: LaidRow, y: number): void {
    const { g, inks } = this;
    const { view } = scene;
    const height = laid.ribbon - 3;
    const top = y + laid.height - laid.ribbon;
    for (const heat of laid.row.heats ?? []) this.heat(view, heat, top, height);
    g.fillStyle = inks.line;
  }

  private heat(view: Viewport, heat: Heat, top: number, height: number): void {
    const { g, inks } = this;
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
    if (Math.min(x1, view.widthPx) - at < this.width(text, SMALL) + 2) return;
    g.fillStyle = inks.hotInk;
    g.fillText(text, at, top + height / 2 + 0.5);
  }

  private bars(scene: Scene, laid: LaidRow, y: number): void {
    const { view } = scene;
    for (const bar of laid.row.bars) {
      if (bar.toMs <= view.fromMs || bar.fromMs >= view.toMs) continue;
      this.bar(scene, laid, bar, y);
    }
  }

  private bar(scene: Scene, laid: LaidRow, bar: Bar, y: number): void {
    const { g, inks } = this;
    const { view } = scene;
    const x = xOf(view, bar.fromMs);
    const width = Math.max(1.5, xOf(view, bar.toMs) - x - 0.75);
    const top = y + laid.lanesTop + bar.lane * laid.laneHeight + 0.5;
    const height = Math.max(2, bar.lanes * laid.laneHeight - 1);
    const task = bar.task;
    const isOwn =
      task !== undefined && (scene.load !== undefined ? task.load?.id === scene.load || isMixOf(scene, task) : true);
    g.globalAlpha = isOwn || scene.load === undefined || tripHas(scene, bar) ? 1 : 0.42;
    const dough = this.doughs.get(task?.dough ?? "");
    if (task?.task.does === "clean") {
      this.cleaning(x, top, width, height);
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
      if (height >= 11) this.barText(scene, bar, x, top, width, height, dough?.mark);
      if (task?.task.dips && width > 30) this.dips(view, task, top, height);
      if (task?.load && scene.late.has(task.load.id)) this.lateMark(x + width, top, height);
    }
    if (task && (task.id === scene.selected || scene.marked.has(task.id))) {
      g.strokeStyle = task.id === scene.selected ? inks.select : inks.accent;
      g.lineWidth = 2;
      g.beginPath();
      g.roundRect(x - 1, top - 1, width + 2, height + 2, 3);
      g.stroke();
    }
    if (task) this.markedState(scene.states.get(task.id), x, top, width, height);
    if (task && scene.plan.pins.has(task.id)) this.pin(Math.max(x, 0) + Math.min(8, width / 2), top, height);
    g.globalAlpha = 1;
  }

  /** A pin that is stuck into the bar's upper edge. */
  private pin(x: number, top: number, height: number): void {
    const { g, inks } = this;
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
  private markedState(state: string | undefined, x: number, top: number, width: number, height: number): void {
    if (state !== "started" && state !== "finished") return;
    const { g, inks } = this;
    if (state === "finished") {
      g.globalAlpha = 0.5;
      g.fillStyle = inks.paper;
      g.fillRect(x, top, width, height);
      g.globalAlpha = 1;
    }
    g.fillStyle = inks.good;
    g.fillRect(x, state === "started" ? top + height - 3 : top + height / 2 - 1, width, state === "started" ? 3 : 2);
  }

  private cleaning(x: number, top: number, width: number, height: number): void {
    const { g, inks } = this;
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
  private dips(view: Viewport, task: PlannedTask, top: number, height: number): void {
    const { g, inks } = this;
    g.fillStyle = inks.barInk;
    for (const dip of task.task.dips ?? []) {
      const x = xOf(view, Date.parse(dip.start));
      g.fillRect(x, top, 1, Math.min(5, height / 3));
    }
  }

  private lateMark(right: number, top: number, height: number): void {
    const { g, inks } = this;
    const size = Math.min(8, height);
    g.fillStyle = inks.alarm;
    g.beginPath();
    g.moveTo(right - size, top);
    g.lineTo(right, top);
    g.lineTo(right, top + size);
    g.closePath();
    g.fill();
  }

  private barText(
    scene: Scene,
    bar: Bar,
    x: number,
    top: number,
    width: number,
    height: number,
    mark: string | undefined,
  ): void {
    const { g, inks } = this;
    const from = Math.max(x, 0) + 6;
    const room = Math.min(x + width, scene.view.widthPx) - from - 3;
    if (room < 10) return;
    const texts = bar.task ? barTexts(scene.plan, bar.task, mark) : [bar.text ?? ""];
    const text = texts.find((candidate) => this.width(candidate, LABEL) <= room);
    if (text === undefined) return;
    g.font = LABEL;
    g.textBaseline = "middle";
    g.fillStyle = inks.barInk;
    const isTall = height >= 27;
    g.fillText(text, from, top + (isTall ? height / 2 - 6.5 : height / 2 + 0.5));
    if (!isTall || !bar.task) return;
    const zone = zoneOf(scene.plan, bar.task.site);
    const second = [`${hhmm(zone, bar.fromMs)}–${hhmm(zone, bar.toMs)}`, hhmm(zone, bar.fromMs)].find(
      (candidate) => this.width(candidate, SMALL) <= room,
    );
    if (second === undefined) return;
    g.font = SMALL;
    g.fillText(second, from, top + height / 2 + 7);
  }

  private width(text: string, font: string): number {
    const key = font + text;
    let known = this.widths.get(key);
    if (known === undefined) {
      this.g.font = font;
      known = this.g.measureText(text).width;
      if (this.widths.size > 5000) this.widths.clear();
      this.widths.set(key, known);
    }
    return known;
  }

  /** The way of the highlighted load through the rows, from its mix to its last task. */
  private thread(scene: Scene): void {
    const { g, inks } = this;
    const points: { x0: number; x1: number; y: number }[] = [];
    const load = scene.plan.loads.get(scene.load!);
    const mix = scene.plan.mixOf.get(load?.batch ?? "");
    const way = [...(mix ? [mix] : []), ...(scene.plan.byLoad.get(scene.load!) ?? [])];
    for (const task of way) {
      const laid = scene.rows.find((row) => touches(row, task, scene));
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

  private ghost(scene: Scene): void {
    const { g, inks } = this;
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
    const chip = this.width(text, STRONG) + 10;
    g.fillStyle = colour;
    g.fillRect(x, top - 17, chip, 16);
    g.fillStyle = inks.paper;
    g.textBaseline = "middle";
    g.fillText(text, x + 5, top - 8.5);
  }

  private now(scene: Scene): void {
    if (scene.nowMs === undefined || scene.nowMs < scene.view.fromMs || scene.nowMs > scene.view.toMs) return;
    const { g, inks } = this;
    g.fillStyle = inks.accent;
    g.fillRect(Math.round(xOf(scene.view, scene.nowMs)) - 1, 0, 2, scene.heightPx);
  }
}

function isMixOf(scene: Scene, task: PlannedTask): boolean {
  return task.task.does === "mix" && task.batch?.id === scene.plan.loads.get(scene.load ?? "")?.batch;
}

function tripHas(scene: Scene, bar: Bar): boolean {
  if (!bar.trip) return false;
  return (scene.plan.byLoad.get(scene.load ?? "") ?? []).some((task) => task.task.van === bar.trip);
}

function touches(laid: LaidRow, task: PlannedTask, scene: Scene): boolean {
  const { row } = laid;
  if (row.station === "crew" || row.station === "site") return false;
  if (row.station === "van") return task.task.van !== undefined && row.bars.some((bar) => bar.trip === task.task.van);
  if (row.station === "fridge" && row.isUnfolded) return false;
  if (task.task.unit === row.id) return true;
  void scene;
  return (task.task.places ?? []).some((place) => place.unit === row.id || place.unit.startsWith(`${row.id}/`));
}

/** What a bar may say, longest first. */
function barTexts(plan: Plan, task: PlannedTask, mark: string | undefined): string[] {
  const short = mark ? [mark] : [];
  if (task.load) {
    const name = task.product?.name ?? task.load.product;
    const does = task.task.does;
    const lead = does === "shape" || does === "top" || does === "pack" ? `${DOES[does]} ` : "";
    return [`${lead}${task.load.pieces} ${name}`, `${task.load.pieces} ${name}`, name, ...short];
  }
  if (task.batch) {
    const name = plan.doughNames.get(task.batch.dough) ?? task.batch.dough;
    return [`${name} ${(task.batch.massG / 1000).toFixed(1)} kg`, name, ...short];
  }
  return [DOES[task.task.does]];
}
