import { EMPTY, type Layout, type Place, SLACK_MM } from "./layout.js";

/** Rows of round pieces along one side of the area: centres as [along, across]. */
interface Rows {
  readonly centres: readonly (readonly [number, number])[];
  readonly staggered: boolean;
}

function steps(span: number, pitch: number): number {
  return span < -SLACK_MM ? 0 : 1 + Math.floor((span + SLACK_MM) / pitch);
}

function squareRows(along: number, across: number, pitch: number): Rows {
  const centres: [number, number][] = [];
  for (let j = 0; j < steps(across, pitch); j++) {
    for (let i = 0; i < steps(along, pitch); i++) centres.push([i * pitch, j * pitch]);
  }
  return { centres, staggered: false };
}

/**
 * Rows shifted by half an in-row pitch against each other. Pieces of neighbouring rows touch along the slant, so rows come closer
 * when the pieces of a row stand wider; pieces two rows apart stand one above the other and keep the pitch.
 */
function staggeredRows(along: number, across: number, pitch: number, inRow: number): Rows {
  const rowDistance = Math.max(Math.sqrt(Math.max(0, pitch ** 2 - (inRow / 2) ** 2)), pitch / 2);
  const centres: [number, number][] = [];
  for (let j = 0; j < steps(across, rowDistance); j++) {
    const shift = j % 2 === 0 ? 0 : inRow / 2;
    for (let i = 0; i < steps(along - shift, inRow); i++) centres.push([shift + i * inRow, j * rowDistance]);
  }
  return { centres, staggered: true };
}

/** The better of all regular layouts with rows along the first side. */
function bestRows(along: number, across: number, pitch: number): Rows {
  let best = squareRows(along, across, pitch);
  const consider = (rows: Rows): void => {
    if (rows.centres.length > best.centres.length) best = rows;
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
  const lengthwise = bestRows(Math.max(0, width), Math.max(0, depth), pitch);
  const crosswise = bestRows(Math.max(0, depth), Math.max(0, width), pitch);
  const turned = crosswise.centres.length > lengthwise.centres.length;
  const rows = turned ? crosswise : lengthwise;
  const places: Place[] = rows.centres.map(([along, across]) => ({
    xMm: edgeMm + (turned ? across : along),
    yMm: edgeMm + (turned ? along : across),
    widthMm: diameterMm,
    depthMm: diameterMm,
    turned,
  }));
  return { count: places.length, pattern: rows.staggered ? "staggered" : "square", places };
}
