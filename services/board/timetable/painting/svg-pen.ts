import type { Pen } from "./brush.js";

const SVG = "http://www.w3.org/2000/svg";
const BASELINES: Readonly<Record<string, string>> = { middle: "central", top: "hanging", bottom: "text-after-edge" };
const ANCHORS: Readonly<Record<string, string>> = { center: "middle", right: "end", end: "end" };

interface Kept {
  readonly parent: Element;
  readonly globalAlpha: number;
  readonly dash: string;
}

/** Draws as a canvas does, as elements of an SVG: on paper lines and text stay sharp, whatever the printer. Clips to rectangles only. */
export class SvgPen implements Pen {
  fillStyle: Pen["fillStyle"] = "#000";
  strokeStyle: Pen["strokeStyle"] = "#000";
  lineWidth = 1;
  lineJoin: CanvasLineJoin = "miter";
  font = "10px sans-serif";
  textAlign: CanvasTextAlign = "left";
  textBaseline: CanvasTextBaseline = "alphabetic";
  globalAlpha = 1;
  private dash = "";
  private path = "";
  private area: readonly [number, number, number, number] | undefined;
  private readonly kept: Kept[] = [];

  constructor(
    private parent: Element,
    private readonly measure: Pick<CanvasRenderingContext2D, "measureText" | "font">,
  ) {}

  private add(name: string, attributes: Readonly<Record<string, string | number>>): Element {
    const element = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
    if (this.globalAlpha < 1) element.setAttribute("opacity", String(this.globalAlpha));
    this.parent.append(element);
    return element;
  }

  private inks(isFill: boolean): Record<string, string | number> {
    if (isFill) return { fill: String(this.fillStyle) };
    return {
      fill: "none",
      stroke: String(this.strokeStyle),
      "stroke-width": this.lineWidth,
      "stroke-linejoin": this.lineJoin,
      ...(this.dash === "" ? {} : { "stroke-dasharray": this.dash }),
    };
  }

  beginPath(): void {
    this.path = "";
    this.area = undefined;
  }

  moveTo(x: number, y: number): void {
    this.path += `M${x} ${y}`;
  }

  lineTo(x: number, y: number): void {
    this.path += `L${x} ${y}`;
  }

  bezierCurveTo(x1: number, y1: number, x2: number, y2: number, x: number, y: number): void {
    this.path += `C${x1} ${y1} ${x2} ${y2} ${x} ${y}`;
  }

  closePath(): void {
    this.path += "Z";
  }

  rect(x: number, y: number, width: number, height: number): void {
    this.area = [x, y, width, height];
    this.path += `M${x} ${y}h${width}v${height}h${-width}Z`;
  }

  roundRect(x: number, y: number, width: number, height: number, radii: Parameters<Pen["roundRect"]>[4] = 0): void {
    const [all = 0, right = all, low = all, left = right] = (Array.isArray(radii) ? radii : [radii]) as number[];
    const corner = (radius: number, dx: number, dy: number): string =>
      radius === 0 ? "" : `a${radius} ${radius} 0 0 1 ${dx * radius} ${dy * radius}`;
    this.path += `M${x + all} ${y}H${x + width - right}${corner(right, 1, 1)}V${y + height - low}${corner(low, -1, 1)}H${x + left}${corner(left, -1, -1)}V${y + all}${corner(all, 1, -1)}Z`;
  }

  /** Whole circles only. */
  arc(x: number, y: number, radius: number): void {
    this.path += `M${x - radius} ${y}a${radius} ${radius} 0 1 1 ${2 * radius} 0a${radius} ${radius} 0 1 1 ${-2 * radius} 0Z`;
  }

  fill(): void {
    this.add("path", { d: this.path, ...this.inks(true) });
  }

  stroke(): void {
    this.add("path", { d: this.path, ...this.inks(false) });
  }

  fillRect(x: number, y: number, width: number, height: number): void {
    if (width > 0 && height > 0) this.add("rect", { x, y, width, height, ...this.inks(true) });
  }

  strokeRect(x: number, y: number, width: number, height: number): void {
    if (width > 0 && height > 0) this.add("rect", { x, y, width, height, ...this.inks(false) });
  }

  setLineDash(lengths: Iterable<number>): void {
    this.dash = [...lengths].join(" ");
  }

  fillText(text: string, x: number, y: number): void {
    const [, weight = "400", size = "10", face = "sans-serif"] = /^(\d+) ([\d.]+)px (.+)$/.exec(this.font) ?? [];
    this.add("text", {
      x,
      y,
      ...this.inks(true),
      "font-weight": weight,
      "font-size": size,
      "font-family": face,
      "text-anchor": ANCHORS[this.textAlign] ?? "start",
      "dominant-baseline": BASELINES[this.textBaseline] ?? "auto",
    }).textContent = text;
  }

  measureText(text: string): TextMetrics {
    this.measure.font = this.font;
    return this.measure.measureText(text);
  }

  save(): void {
    this.kept.push({ parent: this.parent, globalAlpha: this.globalAlpha, dash: this.dash });
  }

  restore(): void {
    const kept = this.kept.pop();
    if (!kept) return;
    this.parent = kept.parent;
    this.globalAlpha = kept.globalAlpha;
    this.dash = kept.dash;
  }

  private within(name: string, attributes: Readonly<Record<string, string | number>>): void {
    const alpha = this.globalAlpha;
    this.globalAlpha = 1;
    this.parent = this.add(name, attributes);
    this.globalAlpha = alpha;
  }

  translate(x: number, y: number): void {
    this.within("g", { transform: `translate(${x} ${y})` });
  }

  rotate(angle: number): void {
    this.within("g", { transform: `rotate(${(angle * 180) / Math.PI})` });
  }

  clip(): void {
    const [x, y, width, height] = this.area ?? [0, 0, 0, 0];
    this.within("svg", {
      x,
      y,
      width: Math.max(0, width),
      height: Math.max(0, height),
      viewBox: `${x} ${y} ${Math.max(0, width)} ${Math.max(0, height)}`,
    });
  }
}
