import { type Signal, signal } from "@preact/signals";
import type { DocumentName, OrderLine } from "../../../schemas/index.js";
import type { EditableDocument } from "../logic/setup-tree.js";

/** What is typed but not saved, by day: it waits while other pages or days are looked at, and never gets into another day. */
function byDay<T>(first: T): (day: string) => Signal<T> {
  const kept = new Map<string, Signal<T>>();
  return (day) => {
    const known = kept.get(day) ?? signal(first);
    kept.set(day, known);
    return known;
  };
}

/** Of what has been replaced as a whole. */
export function dropDrafts(day: string, replaced: ReadonlySet<DocumentName>): void {
  if (replaced.has("orders")) orderDraft(day).value = undefined;
  const draft = setUpDraft(day);
  draft.value = Object.fromEntries(Object.entries(draft.value).filter(([name]) => !replaced.has(name as DocumentName)));
}

/** Of a day that is deleted; the answer puts them back. */
export function takeDrafts(day: string): () => void {
  const [orders, setUp] = [orderDraft(day), setUpDraft(day)];
  const [typed, changed] = [orders.value, setUp.value];
  orders.value = undefined;
  setUp.value = {};
  return () => {
    orders.value = typed;
    setUp.value = changed;
  };
}

export const orderDraft = byDay<readonly OrderLine[] | undefined>(undefined);
export const setUpDraft = byDay<Partial<Record<EditableDocument, unknown>>>({});
