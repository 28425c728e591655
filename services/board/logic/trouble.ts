import type { Happening } from "../../../schemas/index.js";

/** What can go wrong with a task, as a station says it in two taps. */
export type Trouble =
  | { readonly is: "longer"; readonly minutes: number }
  | { readonly is: "late"; readonly minutes: number }
  | { readonly is: "lost"; readonly pieces: number }
  | { readonly is: "spoiled" }
  | { readonly is: "short"; readonly kg: number }
  | { readonly is: "out"; readonly minutes?: number };

/** What is told of a load that was given up once it is thrown away: words for people, nothing that a repair goes by. */
export const THROWN = "thrown away";

/** The words that are sent; the server understands them, and people read them too. */
export function troubleNote(trouble: Trouble): string {
  switch (trouble.is) {
    case "longer":
      return `takes ${trouble.minutes} min longer`;
    case "late":
      return `starts ${trouble.minutes} min late`;
    case "lost":
      return `${trouble.pieces} pieces lost`;
    case "spoiled":
      return "all of it spoiled";
    case "short":
      return `${trouble.kg} kg of dough short`;
    case "out":
      return trouble.minutes === undefined
        ? "its unit does not work"
        : `its unit does not work for ${trouble.minutes} min`;
  }
}

export interface Marked {
  readonly task: string;
  readonly what: "started" | "finished" | "trouble";
  readonly at: string;
  readonly note?: string;
}

/** A mark as a screen knows it. */
export interface Told extends Marked {
  /** Of one that the server has. */
  readonly id?: string;
  /** Of one that waits to be sent. */
  readonly key?: string;
  /** It was a mistake and counts no more. */
  readonly setAside?: object;
  /** What it means, said by the server by the timetable that the station saw: by a later one the same words would mean something else. */
  readonly happening?: Happening;
}
