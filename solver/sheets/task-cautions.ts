import type { Task } from "../../schemas/index.js";
import type { Caution } from "../trade/cautions.js";
import type { Book } from "./book.js";

const OF_WORK: Readonly<Partial<Record<Task["does"], readonly Caution[]>>> = {
  mix: ["mixer"],
  boil: ["boiling-water"],
  bake: ["hot-decks"],
  shape: ["raw-flour"],
  retard: ["cold-chain"],
};

/** What to take care of in a task, wherever it is named: crew sheets and calendars. */
export function cautionsOf(book: Book, task: Task): Caution[] {
  const lye: readonly Caution[] = book.meetsLye(task) ? ["lye"] : [];
  if (task.does !== "clean") return [...(OF_WORK[task.does] ?? []), ...lye];
  const isMixer = book.sites.get(task.site)?.mixers.some(({ id }) => task.unit === `${task.site}/${id}`) ?? false;
  return [
    ...(book.kettle(task.unit) ? (["boiling-water"] as const) : []),
    ...(isMixer ? (["mixer"] as const) : []),
    ...lye,
    "allergen-order",
  ];
}
