import type { DayChange, DayDocuments, LimitKind, Prices } from "../../schemas/index.js";

/** Something that is wanting: of a kind, at a site, while. Minutes of the window. */
export interface Want {
  readonly kind: LimitKind;
  readonly site: string;
  /** Which: skills, container, units, as the pool names them. */
  readonly of: string;
  readonly from: number;
  readonly to: number;
}

export interface MakerContext {
  readonly day: DayDocuments;
  readonly prices: Required<Prices>;
  /** Epoch minute of the window's start. */
  readonly origin: number;
}

/** Changes that a planner can really make, and what they cost. */
export interface Candidate {
  /** Candidates of one family are sizes of one thing: they are not combined. */
  readonly family: string;
  readonly changes: readonly DayChange[];
  readonly cost: number;
}

/** Thinks of changes that ease one want. */
export type RemedyMaker = (want: Want, context: MakerContext) => Candidate[];
