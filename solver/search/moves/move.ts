import type { Draft } from "../draft.js";

/** A way to change a plan. False: it came to nothing and the draft is to be taken back. */
export interface Move {
  readonly name: string;
  apply(draft: Draft): boolean;
}
