import type { DayDocuments, DocumentName } from "../../schemas/index.js";

/** Documents as JSON text. */
export type Texts = Readonly<Partial<Record<DocumentName, string>>>;

/** Texts as the solver takes them. */
export function dayOfTexts(texts: Texts): DayDocuments {
  const { timetable, ...rest } = Object.fromEntries(
    Object.entries(texts).map(([name, text]) => [name, JSON.parse(text) as unknown]),
  );
  return { ...rest, ...(timetable === undefined ? {} : { inForce: timetable }) } as unknown as DayDocuments;
}
