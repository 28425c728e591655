import { EMPTY, type Layout, MOST_PLACES, type Place, SLACK_MM } from "./layout.js";

/**
 * Most equal rectangles in a rectangle, sides parallel, quarter turns allowed.
 *
 * Recursive division into five blocks (a pinwheel; four, two or one block when it degenerates) on the normal lines of Herz,
 * as in Morabito & Morales, "A simple and effective recursive procedure for the manufacturer's pallet loading problem"
 * (JORS 49, 1998); stops at the bound of Barnes (1979), which proves a layout best.
 */

/** How a block is filled: by a grid of boxes one way round, or by five blocks between the lines. */
type Filling =
  | { readonly kind: "grid"; readonly count: number; readonly turned: boolean }
  | {
      readonly kind: "blocks";
      readonly count: number;
      readonly x1: number;
      readonly x2: number;
      readonly y1: number;
      readonly y2: number;
    };

const MAX_DEPTH = 3;
/** Beyond this many boxes a grid leaves so little that deeper division is not worth its time. */
const MAX_LINES = 70;
/**
 * Divisions tried in one call before the best so far is taken: at the first level, and below it or on an area of many boxes,
 * where a grid wastes little.
 */
const MAX_TRIES = 200_000;
const MAX_TRIES_BELOW = 4_000;
const MANY_BOXES = 72;
/** Divisions tried for one layout, all levels together: far more than ordinary measures take, and a fraction of a second. */
const MAX_TRIES_IN_ALL = 2_000_000;

function floorDiv(length: number, by: number): number {
  return Math.floor((length + SLACK_MM) / by);
}

/** At most so many a x b boxes lie in X x Y: area, and Barnes's bound when all measures are whole. */
export function boxBound(x: number, y: number, a: number, b: number): number {
  const area = Math.floor((x * y + SLACK_MM) / (a * b));
  if (![x, y, a, b].every(Number.isInteger)) return area;
  const waste = (side: number): number => {
    const r = x % side;
    const s = y % side;
    return Math.min(r * s, (side - r) * (side - s));
  };
  const total = x * y;
  return Math.floor((total - Math.max(waste(a), waste(b))) / (a * b));
}

class Divider {
  private readonly a: number;
  private readonly b: number;
  private readonly memo = new Map<number, Filling>();
  private readonly reduced = new Map<number, number>();
  private triesLeft = MAX_TRIES_IN_ALL;

  constructor(a: number, b: number) {
    this.a = a;
    this.b = b;
  }

  /** Combinations of box sides up to a length, ascending, zero included; null when they are too many to divide by. */
  private lines(length: number): number[] | null {
    const found = new Set<number>();
    for (let i = 0; i * this.a <= length + SLACK_MM; i++) {
      for (let j = 0; i * this.a + j * this.b <= length + SLACK_MM; j++) {
        found.add(i * this.a + j * this.b);
        if (found.size > MAX_LINES) return null;
      }
    }
    return [...found].sort((p, q) => p - q);
  }

  /** The part of a length that rows of boxes can fill. */
  private reduce(length: number): number {
    let best = this.reduced.get(length);
    if (best !== undefined) return best;
    best = 0;
    for (let i = 0; i * this.a <= length + SLACK_MM; i++) {
      const rest = length - i * this.a;
      best = Math.max(best, i * this.a + floorDiv(rest, this.b) * this.b);
    }
    this.reduced.set(length, best);
    return best;
  }

  /** No more boxes go into a block of these measures. */
  private atMost(width: number, depth: number): number {
    return Math.floor(((width + SLACK_MM) * (depth + SLACK_MM)) / (this.a * this.b) + SLACK_MM);
  }

  private grid(x: number, y: number): Filling {
    const straight = floorDiv(x, this.a) * floorDiv(y, this.b);
    const turned = floorDiv(x, this.b) * floorDiv(y, this.a);
    return { kind: "grid", count: Math.max(straight, turned), turned: turned > straight };
  }

  /** The best filling of a block whose measures are reduced. */
  private fill(x: number, y: number, level: number): Filling {
    // A quarter of a millimetre tells normal lines apart; 2^19 quarters are the longest side.
    const key = (Math.round(x * 4) * 524288 + Math.round(y * 4)) * 8 + level;
    const known = this.memo.get(key);
    if (known) return known;
    let best = this.grid(x, y);
    const bound = boxBound(x, y, this.a, this.b);
    if (best.count < bound && level < MAX_DEPTH) best = this.divide(x, y, level, best, bound);
    this.memo.set(key, best);
    return best;
  }

  private divide(x: number, y: number, level: number, start: Filling, bound: number): Filling {
    let best = start;
    const xs = this.lines(x);
    const ys = this.lines(y);
    if (!xs || !ys) return best;
    let tries = level > 0 || bound > MANY_BOXES ? MAX_TRIES_BELOW : MAX_TRIES;
    const right = xs.map((line) => this.reduce(x - line));
    const behind = ys.map((line) => this.reduce(y - line));
    for (let i1 = 0; i1 < xs.length; i1++) {
      const x1 = xs[i1]!;
      // Half a turn maps a division on its mirror image.
      for (let i2 = i1; i2 < xs.length && x1 + xs[i2]! <= x; i2++) {
        const x2 = xs[i2]!;
        const middle = this.reduce(x2 - x1);
        for (let j1 = 0; j1 < ys.length; j1++) {
          const y1 = ys[j1]!;
          if (x1 === 0 && y1 === 0) continue;
          const fixed = this.atMost(right[i1]!, y1) + this.atMost(right[i2]!, behind[j1]!);
          for (let j2 = j1; j2 < ys.length; j2++) {
            const y2 = ys[j2]!;
            if (x2 === x && y2 === y && x1 === x) continue;
            if (tries-- <= 0 || this.triesLeft-- <= 0) return best;
            // What cannot be more is not looked at: nearly all divisions go here.
            const around = fixed + this.atMost(x1, y2) + this.atMost(x2, behind[j2]!);
            if (around + this.atMost(middle, y2 - y1) <= best.count) continue;
            const possible = around + this.atMost(middle, this.reduce(y2 - y1));
            if (possible <= best.count) continue;
            const count = this.countBlocks(x, y, blocks(x, y, x1, x2, y1, y2), level + 1, possible, best.count);
            if (count <= best.count) continue;
            best = { kind: "blocks", count, x1, x2, y1, y2 };
            if (count >= bound) return best;
          }
        }
      }
    }
    return best;
  }

  /** Boxes in the blocks together, of which so many are possible; 0 as soon as they are no more than those to beat. */
  private countBlocks(
    x: number,
    y: number,
    parts: readonly Block[],
    level: number,
    possible: number,
    beat: number,
  ): number {
    let left = possible;
    let count = 0;
    for (const part of parts) {
      // A block as large as the whole would be the same question again.
      if (part.width >= x - SLACK_MM && part.depth >= y - SLACK_MM) return 0;
      const width = this.reduce(part.width);
      const depth = this.reduce(part.depth);
      left -= this.atMost(width, depth);
      count += this.fill(width, depth, level).count;
      if (count + left <= beat) return 0;
    }
    return count;
  }

  places(x0: number, y0: number, width: number, depth: number, level: number, into: Place[]): void {
    const x = this.reduce(width);
    const y = this.reduce(depth);
    const filling = this.fill(x, y, level);
    if (filling.kind === "grid") {
      const w = filling.turned ? this.b : this.a;
      const d = filling.turned ? this.a : this.b;
      for (let j = 0; j < floorDiv(y, d); j++) {
        for (let i = 0; i < floorDiv(x, w); i++) {
          into.push({ xMm: x0 + i * w, yMm: y0 + j * d, widthMm: w, depthMm: d, turned: filling.turned });
        }
      }
      return;
    }
    for (const part of blocks(x, y, filling.x1, filling.x2, filling.y1, filling.y2)) {
      this.places(x0 + part.x, y0 + part.y, part.width, part.depth, level + 1, into);
    }
  }
}

interface Block {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly depth: number;
}

/** The five blocks of a pinwheel between the lines x1 <= x2 and y1 <= y2. */
function blocks(x: number, y: number, x1: number, x2: number, y1: number, y2: number): readonly Block[] {
  return [
    { x: 0, y: 0, width: x1, depth: y2 },
    { x: x1, y: 0, width: x - x1, depth: y1 },
    { x: x1, y: y1, width: x2 - x1, depth: y2 - y1 },
    { x: x2, y: y1, width: x - x2, depth: y - y1 },
    { x: 0, y: y2, width: x2, depth: y - y2 },
  ];
}

/** More boxes than anybody lays out by hand: a grid of the first of them. */
function gridOf(x: number, y: number, a: number, b: number, into: Place[]): void {
  const turned = floorDiv(x, b) * floorDiv(y, a) > floorDiv(x, a) * floorDiv(y, b);
  const [w, d] = turned ? [b, a] : [a, b];
  for (let j = 0; j < floorDiv(y, d); j++)
    for (let i = 0; i < floorDiv(x, w); i++) {
      if (into.length >= MOST_PLACES) return;
      into.push({ xMm: i * w, yMm: j * d, widthMm: w, depthMm: d, turned });
    }
}

/**
 * Lays boxes on an area, gapMm between them and edgeMm to its edges. Places are without the gap. Empty when a measure is
 * not positive or nothing fits.
 */
export function layoutRectangles(
  areaWidthMm: number,
  areaDepthMm: number,
  boxWidthMm: number,
  boxDepthMm: number,
  gapMm: number,
  edgeMm: number,
): Layout {
  const width = areaWidthMm - 2 * edgeMm + gapMm;
  const depth = areaDepthMm - 2 * edgeMm + gapMm;
  const a = boxWidthMm + gapMm;
  const b = boxDepthMm + gapMm;
  if (!(width > 0 && depth > 0 && a > 0 && b > 0)) return EMPTY;
  // One way round for area and box, so that a turned question has the turned answer.
  const isDeep = depth > width;
  const isTall = b > a;
  const long = Math.max(a, b);
  const short = Math.min(a, b);
  const found: Place[] = [];
  if ((width * depth) / (a * b) > MOST_PLACES)
    gridOf(Math.max(width, depth), Math.min(width, depth), long, short, found);
  else new Divider(long, short).places(0, 0, Math.max(width, depth), Math.min(width, depth), 0, found);
  if (found.length === 0) return EMPTY;
  const places = found.map(({ xMm, yMm, widthMm, depthMm, turned }) => ({
    xMm: edgeMm + (isDeep ? yMm : xMm),
    yMm: edgeMm + (isDeep ? xMm : yMm),
    widthMm: (isDeep ? depthMm : widthMm) - gapMm,
    depthMm: (isDeep ? widthMm : depthMm) - gapMm,
    turned: turned !== (isDeep !== isTall),
  }));
  const turnedCount = places.filter((place) => place.turned).length;
  const pattern = turnedCount === 0 ? "straight" : turnedCount === places.length ? "turned" : "mixed";
  return { count: places.length, pattern, places };
}
