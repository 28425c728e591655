import type { Plan } from "../../logic/plan.js";
import type { LaidRow } from "../../logic/rows/layout.js";
import type { Viewport } from "../../logic/scale.js";
import type { DoughInk, Inks } from "../inks.js";

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

/** What is asked of a canvas, and of whatever else the timetable is drawn on. */
export type Pen = Pick<
  CanvasRenderingContext2D,
  | "arc"
  | "beginPath"
  | "bezierCurveTo"
  | "clip"
  | "closePath"
  | "fill"
  | "fillRect"
  | "fillStyle"
  | "fillText"
  | "font"
  | "globalAlpha"
  | "lineJoin"
  | "lineTo"
  | "lineWidth"
  | "measureText"
  | "moveTo"
  | "rect"
  | "restore"
  | "rotate"
  | "roundRect"
  | "save"
  | "setLineDash"
  | "stroke"
  | "strokeRect"
  | "strokeStyle"
  | "textAlign"
  | "textBaseline"
  | "translate"
>;

const FACE = '"Atkinson Hyperlegible Next Variable", system-ui, sans-serif';
export const SMALL = `500 10.5px ${FACE}`;
export const LABEL = `550 11.5px ${FACE}`;
export const STRONG = `700 11.5px ${FACE}`;

/** What everything is painted with. */
export class Brush {
  private readonly widths = new Map<string, Map<string, number>>();

  constructor(
    readonly g: Pen,
    public inks: Inks,
    public doughs: Map<string, DoughInk>,
  ) {}

  /** Widths depend on the face, which may arrive late. */
  forgetWidths(): void {
    this.widths.clear();
  }

  /** Of a text, px; measured once. */
  width(text: string, font: string): number {
    let own = this.widths.get(font);
    if (!own) {
      own = new Map();
      this.widths.set(font, own);
    }
    let known = own.get(text);
    if (known === undefined) {
      this.g.font = font;
      known = this.g.measureText(text).width;
      if (own.size > 5000) own.clear();
      own.set(text, known);
    }
    return known;
  }
}
