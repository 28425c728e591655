/**
 * The verifier's own counts of what lies flat on an area, independent of the layout search: rectangles by cuts from edge to edge
 * and pinwheels of five areas, three deep; rounds in square or staggered rows. Where there are too many ways to go through them
 * all, what cannot be exceeded is the limit instead: a sound layout is never refused. test/unit/verify/count.test.ts holds both
 * against the layouts drawn.
 */

const EPS = 1e-6;
const LEVELS = 3;
/** So many cuts, pinwheels and sums of sides are looked at; beyond, the count is not known. */
const MOST_LOOKS = 3_000_000;
/** Where more go, nobody counts: what cannot be exceeded is the limit. */
const COUNTED = 10_000;

class Counter {
  private readonly a: number;
  private readonly b: number;
  private readonly known = new Map<number, number>();
  private readonly linesOf = new Map<number, readonly number[]>();
  private left = MOST_LOOKS;

  constructor(a: number, b: number) {
    this.a = a;
    this.b = b;
  }

  /** Has everything been looked at that there was to look at? */
  get isComplete(): boolean {
    return this.left > 0;
  }

  private grid(x: number, y: number): number {
    const inLine = (length: number, side: number): number => Math.floor((length + EPS) / side);
    return Math.max(inLine(x, this.a) * inLine(y, this.b), inLine(x, this.b) * inLine(y, this.a));
  }

  private area(x: number, y: number): number {
    return Math.floor((x * y) / (this.a * this.b) + EPS);
  }

  /** Sums of box sides from 0 to a length, ascending. */
  private lines(length: number): readonly number[] {
    const key = Math.round(length * 10);
    let lines = this.linesOf.get(key);
    if (lines === undefined) {
      lines = this.sums(length);
      this.linesOf.set(key, lines);
    }
    return lines;
  }

  private sums(length: number): number[] {
    const sums = new Set<number>();
    for (let p = 0; p <= length + EPS; p += this.a)
      for (let q = p; q <= length + EPS && this.left > 0; q += this.b) {
        this.left--;
        sums.add(q);
      }
    return [...sums].sort((p, q) => p - q);
  }

  /** By cuts from edge to edge and pinwheels, at most `levels` deep. */
  most(width: number, depth: number, levels: number): number {
    if (!this.isComplete) return 0;
    // What no row of boxes fills is of no use.
    const x = this.lines(width).at(-1) ?? 0;
    const y = this.lines(depth).at(-1) ?? 0;
    const key = (Math.round(x * 10) * 1e6 + Math.round(y * 10)) * 4 + levels;
    const known = this.known.get(key);
    if (known !== undefined) return known;
    let best = this.grid(x, y);
    const most = this.area(x, y);
    if (levels > 0 && best < most) {
      for (const at of this.lines(x / 2)) {
        if (at === 0 || this.left-- <= 0) continue;
        best = Math.max(best, this.most(at, y, levels - 1) + this.most(x - at, y, levels - 1));
      }
      for (const at of this.lines(y / 2)) {
        if (at === 0 || this.left-- <= 0) continue;
        best = Math.max(best, this.most(x, at, levels - 1) + this.most(x, y - at, levels - 1));
      }
    }
    if (levels > 0) best = this.pinwheel(x, y, levels - 1, best);
    this.known.set(key, best);
    return best;
  }

  /** Four areas around a fifth, each divided further; `best` is what is known to fit. */
  private pinwheel(x: number, y: number, levels: number, best: number): number {
    const xs = this.lines(x);
    const ys = this.lines(y);
    const most = this.area(x, y);
    if (best >= most) return best;
    for (const x1 of xs) {
      for (const x2 of xs) {
        if (this.left-- <= 0) return best;
        // Half a turn makes one of the other.
        if (x2 < x1 || x1 + x2 > x + EPS) continue;
        for (const y1 of ys) {
          for (const y2 of ys) {
            if (this.left-- <= 0) return best;
            if (y2 < y1) continue;
            const parts = [x1, y2, x - x1, y1, x - x2, y - y1, x2, y - y2, x2 - x1, y2 - y1];
            let room = 0;
            for (let i = 0; i < 10; i += 2) room += this.area(parts[i]!, parts[i + 1]!);
            if (room <= best) continue;
            let count = 0;
            for (let i = 0; i < 10 && count + room > best; i += 2) {
              room -= this.area(parts[i]!, parts[i + 1]!);
              count += this.most(parts[i]!, parts[i + 1]!, levels);
            }
            if (count > best) best = count;
            if (best >= most) return best;
          }
        }
      }
    }
    return best;
  }
}

/** The most boxes a x b on width x depth, `gap` between them and `edge` to the rim; mm. */
export function mostRectangles(width: number, depth: number, a: number, b: number, gap: number, edge: number): number {
  const x = width - 2 * edge + gap;
  const y = depth - 2 * edge + gap;
  if (x <= 0 || y <= 0) return 0;
  if ((x * y) / ((a + gap) * (b + gap)) > COUNTED) return atMost(x, y, a + gap, b + gap);
  const counter = new Counter(a + gap, b + gap);
  const count = counter.most(x, y, LEVELS);
  return counter.isComplete ? count : Math.max(count, atMost(x, y, a + gap, b + gap));
}

/**
 * No more than these lie there: by area, less the strip that no row of long sides fills (Barnes, "Packing the maximum number of
 * m x n tiles in a large p x q rectangle", Discrete Mathematics 26, 1979).
 */
function atMost(x: number, y: number, a: number, b: number): number {
  const isWhole = [x, y, a, b].every((length) => length >= 1 && Math.abs(length - Math.round(length)) < EPS);
  let waste = 0;
  for (const side of isWhole ? [Math.round(a), Math.round(b)] : []) {
    const overX = Math.round(x) % side;
    const overY = Math.round(y) % side;
    waste = Math.max(waste, Math.min(overX * overY, (side - overX) * (side - overY)));
  }
  return Math.floor((x * y - waste) / (a * b) + EPS);
}

function row(length: number, pitch: number): number {
  return length < -EPS ? 0 : 1 + Math.floor((length + EPS) / pitch);
}

/** Rows along `x`: square, or staggered with every pitch in the row at which a row is just full. */
function rounds(x: number, y: number, pitch: number): number {
  const across = row(x, pitch);
  let best = across * row(y, pitch);
  const pitches = [pitch, 2 * Math.max(x, pitch)];
  for (let n = 1; n <= across; n++) pitches.push(x / (n - 1 || 1), x / (n - 0.5));
  for (const inRow of pitches) {
    if (inRow < pitch - EPS) continue;
    // Touching along the slant; pieces two rows apart stand one above the other.
    const slant = Math.sqrt(Math.max(0, pitch * pitch - (inRow * inRow) / 4));
    const rows = row(y, Math.max(slant, pitch / 2));
    best = Math.max(best, Math.ceil(rows / 2) * row(x, inRow) + Math.floor(rows / 2) * row(x - inRow / 2, inRow));
  }
  return best;
}

/** No more points lie so far apart: Oler, "An inequality in the geometry of numbers" (Acta Mathematica 105, 1961). */
function roundsAtMost(x: number, y: number, pitch: number): number {
  return Math.floor((2 / Math.sqrt(3)) * (x / pitch) * (y / pitch) + (x + y) / pitch + 1 + EPS);
}

/** The most rounds of a diameter on width x depth, `gap` between them and `edge` to the rim; mm. */
export function mostRounds(width: number, depth: number, diameter: number, gap: number, edge: number): number {
  const x = width - 2 * edge - diameter;
  const y = depth - 2 * edge - diameter;
  if (x < -EPS || y < -EPS) return 0;
  const pitch = diameter + gap;
  if (row(x, pitch) * row(y, pitch) > COUNTED) return roundsAtMost(x, y, pitch);
  return Math.max(rounds(Math.max(0, x), Math.max(0, y), pitch), rounds(Math.max(0, y), Math.max(0, x), pitch));
}
