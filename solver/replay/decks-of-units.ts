import type { Oven } from "../../schemas/index.js";
import type { DayIndex } from "../problem/day-index.js";

/** What a deck's name means; its oven, if there is one, and the deck's place in it, or -1. */
export interface DeckOfUnit {
  readonly oven: Oven | undefined;
  readonly station: string;
  readonly deckIndex: number;
}

export function readDeck(index: DayIndex, unit: string): DeckOfUnit {
  const [site, ovenId, deckId] = unit.split("/");
  const oven = index.sites.get(site!)?.ovens.find((candidate) => candidate.id === ovenId);
  const deckIndex = oven ? oven.decks.findIndex(({ id }) => id === deckId) : -1;
  return { oven, station: `${site}/${ovenId}`, deckIndex };
}
