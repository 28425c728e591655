import type { Task } from "../../schemas/index.js";
import { UNPLACED, whatIsCarried } from "../carried.js";
import type { Book } from "./book.js";
import { runs } from "./book.js";

/** A place as people look for it: "deck-3", "shelf-1 (1 2)"; with its station's name when that is another than `from`'s. */
function spotOf(book: Book, task: Task, from: Task): string {
  const here = stationOf(from);
  const named = (unit: string): string =>
    unit.split("/").slice(0, 2).join("/") === here && unit.split("/").length > 2
      ? unit.split("/")[2]!
      : book.unitName(unit);
  if (task.unit !== undefined) return named(task.unit);
  if (task.places === undefined) return UNPLACED;
  const byUnit = new Map<string, number[]>();
  for (const { unit, position } of task.places ?? []) byUnit.set(unit, [...(byUnit.get(unit) ?? []), position]);
  return [...byUnit].map(([unit, positions]) => `${named(unit)} (${runs(positions)})`).join(", ");
}

function stationOf(task: Task): string {
  return (task.unit ?? task.places?.[0]?.unit ?? "").split("/").slice(0, 2).join("/");
}

type Part = (task: Task) => Task;
const ALL: Part = (task) => task;

/** Where what a task leaves unfinished goes on, and in which task; undefined when it leaves nothing. `part`: of its items, those that are asked about. */
export function goesOn(
  book: Book,
  task: Task,
  part = ALL,
): { readonly where: string; readonly rest: Task } | undefined {
  const rest = book.restOf(task);
  const moved = rest && part(whatIsCarried(task, rest).rest);
  return rest && moved?.places?.length !== 0 ? { where: spotOf(book, moved!, task), rest } : undefined;
}

/** Where what a task goes on with comes from, and how long it is there; undefined when it begins by itself. */
export function comesFrom(
  book: Book,
  task: Task,
  part = ALL,
): { readonly where: string; readonly minutes: number } | undefined {
  const first = book.firstOf(task);
  const moved = first && part(whatIsCarried(first, task).first);
  if (!moved || moved.places?.length === 0) return undefined;
  return { where: spotOf(book, moved, task), minutes: book.minute(task.end) - book.minute(task.start) };
}

/** For lists of what somebody does: what is carried on, and where what is left unfinished goes. Empty for all else. */
export function carriedWords(book: Book, task: Task): { readonly before: string; readonly after: string } {
  const site = book.sites.get(task.site)!;
  const on = goesOn(book, task);
  const from = comesFrom(book, task);
  const isHot = task.does === "bake";
  const after = [
    ...(from ? [`from ${from.where}${isHot ? `, ${from.minutes} min more` : ""}`] : []),
    ...(on
      ? [
          `${isHot ? "NOT DONE at" : "at"} ${book.clock(task.end, site)}: carry to ${on.where}, in ${book.clock(on.rest.start, site)}`,
        ]
      : []),
  ];
  return {
    before: from ? (isHot ? "carry half-baked " : "carry ") : "",
    after: after.length === 0 ? "" : `, ${after.join("; ")}`,
  };
}
