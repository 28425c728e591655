import type { CrewGroup, Site, Task } from "../../schemas/index.js";
import { bathName, bathRecipe } from "../baths.js";
import { formatInstant } from "../calendar.js";
import type { Caution } from "../trade/cautions.js";
import type { Book } from "./book.js";
import { carriedWords } from "./carries.js";
import { sheetOf } from "./make.js";
import type { Row, Sheet } from "./model.js";
import { type Stint, stintsOf } from "./people.js";
import { cautionsOf } from "./task-cautions.js";

/** What a task is about, in words; at a kettle what is in it. */
export function taskText(book: Book, task: Task): string {
  const load = book.load(task.load);
  if (load) {
    const { before, after } = carriedWords(book, task);
    const bath = book.bath(task);
    return `${before === "" ? `${task.does} ` : before}${book.what(load)}${after}${bath ? ` in ${bathName(bath)}` : book.meetsLye(task) ? ", wet with lye" : ""}`;
  }
  const next = book.filling(task)?.bath;
  if (next) return `${task.does}, then fill with ${bathRecipe(next)}`;
  const batch = book.batches.get(task.batch ?? "");
  const why = book.whyClean(task);
  if (why !== "") return `clean: ${why}`;
  if (batch) return `mix ${book.doughs.get(batch.dough)?.name ?? batch.dough}`;
  return task.does;
}

/** One person's list, or what is anybody's. */
function personSheet(book: Book, site: Site, group: CrewGroup, number: number | null, stints: readonly Stint[]): Sheet {
  const loads = stints.flatMap(({ task }) => book.load(task.load) ?? []);
  const cautions = new Set<Caution>(stints.flatMap(({ task }) => cautionsOf(book, task)));
  const rows = stints.map(({ task, from, to, people }): Row => {
    const others = people.filter((other) => other !== number);
    return {
      done: false,
      start: formatInstant(from, site.timeZone),
      end: formatInstant(to, site.timeZone),
      what: taskText(book, task),
      where: task.unit === undefined ? "" : book.unitName(task.unit),
      id: task.load ?? task.batch ?? "",
      with: number === null ? `${task.crew?.heads ?? 1} needed` : others.length > 0 ? `with ${others.join(", ")}` : "",
    };
  });
  const hasWith = rows.some((row) => row.with !== "");
  return sheetOf(site, {
    kind: "crew",
    name: number === null ? `${group.id}-anybody` : `${group.id}-${number}`,
    title: number === null ? `${group.name}: anybody` : `${group.name} ${number}`,
    subtitle: `Skills: ${group.skills.join(", ")}`,
    from: rows[0]!.start as string,
    tables: [
      {
        id: "work",
        columns: [
          { key: "done", title: "", as: "tick" },
          { key: "start", title: "From", as: "clock" },
          { key: "end", title: "To", as: "clock" },
          { key: "what", title: "Do", as: "strong" },
          { key: "where", title: "Where", as: "text" },
          { key: "id", title: "Load or batch", as: "text" },
          ...(hasWith ? [{ key: "with", title: "", as: "text" as const }] : []),
        ],
        rows,
      },
    ],
    allergens: book.allergensOfLoads(loads),
    cautions: [...cautions],
  });
}

/** One sheet for each person of a group, and one for what nobody in particular could be named for. */
function groupSheets(book: Book, site: Site, group: CrewGroup): Sheet[] {
  const stints = stintsOf(book, site, group);
  const numbers = [...new Set(stints.flatMap(({ people }) => people))].sort((a, b) => a - b);
  const open = stints.filter(({ people }) => people.length === 0);
  return [
    ...numbers.map((number) =>
      personSheet(
        book,
        site,
        group,
        number,
        stints.filter(({ people }) => people.includes(number)),
      ),
    ),
    ...(open.length > 0 ? [personSheet(book, site, group, null, open)] : []),
  ];
}

export function crewSheets(book: Book): Sheet[] {
  return book.day.network.sites.flatMap((site) => site.crew.flatMap((group) => groupSheets(book, site, group)));
}
