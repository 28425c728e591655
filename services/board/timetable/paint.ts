import type { DoughInk, Inks } from "./inks.js";
import { paintBars } from "./painting/bars.js";
import { Brush, type Pen, type Scene } from "./painting/brush.js";
import { paintGround } from "./painting/ground.js";
import { paintGhost, paintNow, paintThread } from "./painting/overlays.js";
import { paintGauge, paintHeats } from "./painting/strips.js";

/** Draws the visible part of the timetable. Knows pixels and inks, decides nothing. */
export class Painter {
  private readonly brush: Brush;

  constructor(g: Pen, inks: Inks, doughs: Map<string, DoughInk>) {
    this.brush = new Brush(g, inks, doughs);
  }

  setInks(inks: Inks, doughs: Map<string, DoughInk>): void {
    this.brush.inks = inks;
    this.brush.doughs = doughs;
  }

  forgetWidths(): void {
    this.brush.forgetWidths();
  }

  paint(scene: Scene): void {
    const { g, inks } = this.brush;
    const { view, scrollTop, heightPx } = scene;
    g.fillStyle = inks.paper;
    g.fillRect(0, 0, view.widthPx, heightPx);
    const shown = scene.rows.filter((row) => row.top + row.height > scrollTop && row.top < scrollTop + heightPx);
    for (const row of shown) paintGround(this.brush, scene, row, row.top - scrollTop);
    for (const row of shown) {
      const y = row.top - scrollTop;
      if (row.row.station === "site") continue;
      if (row.row.gauge) paintGauge(this.brush, scene, row, y, row.row.gauge);
      if (row.row.heats) paintHeats(this.brush, scene, row, y);
      paintBars(this.brush, scene, row, y);
    }
    if (scene.load) paintThread(this.brush, scene);
    if (scene.drag) paintGhost(this.brush, scene);
    paintNow(this.brush, scene);
  }
}
