import type { DayDocuments, DocumentName } from "../../schemas/index.js";

/** Documents as JSON text. */
export type Texts = Readonly<Partial<Record<DocumentName, string>>>;

/** Characters of text whose documents are kept: some four large days. */
const MOST_CHARACTERS = 8_000_000;

/**
 * Documents by their text, those used last. A planner asks about one day again and again, and of its documents only the happenings are others: what is kept with a
 * document (indexes, tables) is found again when the document is the same object.
 */
const parsed = new Map<string, unknown>();
let characters = 0;

function documentOf(text: string): unknown {
  const known = parsed.get(text);
  const document = known ?? (JSON.parse(text) as unknown);
  if (known === undefined) characters += text.length;
  else parsed.delete(text);
  parsed.set(text, document);
  for (const oldest of parsed.keys()) {
    if (characters <= MOST_CHARACTERS) break;
    parsed.delete(oldest);
    characters -= oldest.length;
  }
  return document;
}

/** Texts as the solver takes them. The same text gives the same document: nobody changes one. */
export function dayOfTexts(texts: Texts): DayDocuments {
  const { timetable, ...rest } = Object.fromEntries(
    Object.entries(texts).map(([name, text]) => [name, documentOf(text)]),
  );
  return { ...rest, ...(timetable === undefined ? {} : { inForce: timetable }) } as unknown as DayDocuments;
}
