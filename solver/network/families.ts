import type { DayIndex, Want } from "../problem/day-index.js";

/** Lines of one product for one site that are due together: what the network program decides about as one flow. */
export interface Family {
  readonly product: string;
  readonly deliverTo: string;
  /** The planner's fixed baking site. */
  readonly madeAt: string | undefined;
  /** Delivered by this minute. */
  readonly due: number;
  /** Finished no earlier than this minute. */
  readonly freshFrom: number;
  readonly wants: readonly Want[];
  readonly pieces: number;
  /** Of the pieces, how many grow with the multiple. */
  readonly growing: number;
}

/**
 * Groups lines into families. Lines that differ in due time or freshness by less than `togetherMinutes` become one family with the window that
 * contains all of theirs: whatever is possible for the lines is possible for the family, so nothing valid is cut. With 0 only lines with
 * the same window are put together, which loses nothing at all.
 */
export function familiesOf(
  index: DayIndex,
  wants: readonly Want[],
  grows: (want: Want) => boolean,
  togetherMinutes = 0,
): Family[] {
  const groups = new Map<string, Want[]>();
  const bucket = (minute: number): number =>
    togetherMinutes > 0 ? Math.ceil(minute / togetherMinutes) * togetherMinutes : minute;
  for (const want of wants) {
    const { product, site, madeAt } = want.line;
    const fresh = bucket(want.due - want.freshWithinMinutes);
    const key = `${product} ${site} ${madeAt ?? ""} ${bucket(want.due)} ${fresh}`;
    const own = groups.get(key);
    if (own) own.push(want);
    else groups.set(key, [want]);
  }
  return [...groups.values()].map((own) => {
    const { product, site, madeAt } = own[0]!.line;
    const sum = (list: readonly Want[]): number => list.reduce((total, want) => total + want.pieces, 0);
    return {
      product,
      deliverTo: site,
      madeAt,
      due: Math.min(index.horizon, Math.max(...own.map((want) => want.due))),
      freshFrom: Math.min(...own.map((want) => want.due - want.freshWithinMinutes)),
      wants: own,
      pieces: sum(own),
      growing: sum(own.filter(grows)),
    };
  });
}
