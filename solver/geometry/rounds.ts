import { EMPTY, type Layout, MOST_PLACES, type Place, SLACK_MM } from "./layout.js";

/** Rows of round pieces along one side of the area, or, staggered, rows shifted by half an in-row pitch against each other. */
interface Rows {
  readonly inRowMm: number;
  readonly rowsMm: number;
  readonly staggered: boolean;
  readonly count: number;
}

function steps(span: number, pitch: number): number {
  return span < -SLACK_MM ? 0 : 1 + Math.floor((span + SLACK_MM) / pitch);
}

function squareRows(along: number, across: number, pitch: number): Rows {
  const count = steps(across, pitch) * steps(along, pitch);
  return { inRowMm: pitch, rowsMm: pitch, staggered: false, count };
}

/**
 * Pieces of neighbouring rows touch along the slant, so rows come closer when the pieces of a row stand wider; pieces two rows apart
 * stand one above the other and keep the pitch.
 */
function staggeredRows(along: number, across: number, pitch: number, inRowMm: number): Rows {
  const rowsMm = Math.max(Math.sqrt(Math.max(0, pitch ** 2 - (inRowMm / 2) ** 2)), pitch / 2);
  const rows = steps(across, rowsMm);
  const count =
    Math.ceil(rows / 2) * steps(along, inRowMm) + Math.floor(rows / 2) * steps(along - inRowMm / 2, inRowMm);
  return { inRowMm, rowsMm, staggered: true, count };
}

/** The better of all regular layouts with rows along the first side. Where more pieces fit than anybody lays out, square rows do. */
function bestRows(along: number, across: number, pitch: number): Rows {
  let best = squareRows(along, across, pitch);
  if (best.count > MOST_PLACES) return best;
  const consider = (rows: Rows): void => {
    if (rows.count > best.count) best = rows;
  };
  const most = steps(along, pitch);
  for (let n = 1; n <= most; n++) {
    consider(staggeredRows(along, across, pitch, n > 1 ? along / (n - 1) : 2 * Math.max(along, pitch)));
    const both = along / (n - 0.5);
    if (both >= pitch - SLACK_MM) consider(staggeredRows(along, across, pitch, both));
  }
  consider(staggeredRows(along, across, pitch, pitch));
  return best;
}

/** Centres of the pieces of rows as [along, across]. */
function centresOf(rows: Rows, along: number, across: number): [number, number][] {
  const { inRowMm, rowsMm, staggered } = rows;
  const centres: [number, number][] = [];
  for (let j = 0; j < steps(across, rowsMm); j++) {
    const shift = staggered && j % 2 === 1 ? inRowMm / 2 : 0;
    for (let i = 0; i < steps(along - shift, inRowMm); i++) {
      if (centres.length >= MOST_PLACES) return centres;
      centres.push([shift + i * inRowMm, j * rowsMm]);
    }
  }
  return centres;
}

/**
 * Lays round pieces on an area in square or staggered rows along either side, whichever holds most; gapMm between
 * pieces, edgeMm to the area's edges.
 */
export function layoutRounds(
  areaWidthMm: number,
  areaDepthMm: number,
  diameterMm: number,
  gapMm: number,
  edgeMm: number,
): Layout {
  const width = areaWidthMm - 2 * edgeMm - diameterMm;
  const depth = areaDepthMm - 2 * edgeMm - diameterMm;
  if (!(width >= -SLACK_MM && depth >= -SLACK_MM && diameterMm > 0)) return EMPTY;
  const pitch = diameterMm + gapMm;
  const long = Math.max(0, width);
  const deep = Math.max(0, depth);
  const lengthwise = bestRows(long, deep, pitch);
  const crosswise = bestRows(deep, long, pitch);
  const turned = crosswise.count > lengthwise.count;
  const rows = turned ? crosswise : lengthwise;
  const places: Place[] = centresOf(rows, turned ? deep : long, turned ? long : deep).map(([along, across]) => ({
    xMm: edgeMm + (turned ? across : along),
    yMm: edgeMm + (turned ? along : across),
    widthMm: diameterMm,
    depthMm: diameterMm,
    turned,
  }));
  return { count: places.length, pattern: rows.staggered ? "staggered" : "square", places };
}
