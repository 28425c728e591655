/** How flat things lie on a flat area. Millimetres; the origin is the area's left front corner. */
export interface Place {
  /** Corner nearest the origin. */
  readonly xMm: number;
  readonly yMm: number;
  readonly widthMm: number;
  readonly depthMm: number;
  /** Lies with its width along the area's depth. */
  readonly turned: boolean;
}

export interface Layout {
  readonly count: number;
  readonly pattern: "empty" | "straight" | "turned" | "mixed" | "square" | "staggered";
  readonly places: readonly Place[];
}

export const EMPTY: Layout = { count: 0, pattern: "empty", places: [] };

/** Lengths are compared with this slack, mm: less than any tape measure shows. */
export const SLACK_MM = 1e-6;

/** No layout has more places: the measures of a day on which more fit are a slip, and are told as one (check/measures.ts). */
export const MOST_PLACES = 10_000;
