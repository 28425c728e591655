import type { Proofer, Site } from "../../schemas/index.js";
import { leastProofMinutes } from "../trade/proof.js";
import { type Book, runs } from "./book.js";
import { carriedWords } from "./carries.js";
import { sheetOf } from "./make.js";
import type { Row, Sheet } from "./model.js";

/** What stands in a proofer from when to when, and the earliest and latest that it may come out. */
function prooferSheet(book: Book, site: Site, proofer: Proofer): Sheet | null {
  const unit = `${site.id}/${proofer.id}`;
  const tasks = book.tasks((task) => task.does === "proof" && task.places?.[0]?.unit === unit);
  if (tasks.length === 0) return null;
  const loads = tasks.flatMap((task) => book.load(task.load) ?? []);
  return sheetOf(site, {
    kind: "proof",
    name: proofer.id,
    title: `Proof: ${proofer.name}`,
    subtitle: `${proofer.positions} pan positions`,
    from: tasks[0]!.start,
    notes: loads.some((load) => book.standingStep(load, "proof")?.typicalMinutes !== undefined)
      ? [
          `Not before: where a typical proof is given, from ${site.roomTempC} C in the room and ${proofer.tempC} C in here; else the route's least.`,
        ]
      : [],
    facts: [
      { label: "Set to", value: proofer.tempC, as: "temp" },
      { label: "Measured", value: null, as: "blank" },
    ],
    tables: [
      {
        id: "proofs",
        columns: [
          { key: "done", title: "", as: "tick" },
          { key: "start", title: "In", as: "clock" },
          { key: "end", title: "Out", as: "clock" },
          { key: "earliest", title: "Not before", as: "clock" },
          { key: "latest", title: "Not after", as: "clock" },
          { key: "what", title: "What", as: "strong" },
          { key: "load", title: "Load", as: "text" },
          { key: "pans", title: "Pans", as: "count" },
          { key: "positions", title: "Positions", as: "text" },
        ],
        rows: tasks.flatMap((task): Row[] => {
          const load = book.load(task.load);
          if (!load) return [];
          const step = book.standingStep(load, "proof");
          // Pans that were carried here have proofed since they first went in.
          const { start } = book.firstOf(task) ?? task;
          return [
            {
              done: false,
              start: task.start,
              end: task.end,
              earliest: step
                ? book.later(start, leastProofMinutes(step, site.roomTempC, proofer.tempC), site)
                : task.end,
              latest: book.later(start, step?.greatestMinutes ?? 0, site),
              what: `${book.what(load)}${carriedWords(book, task).after}`,
              load: load.id,
              pans: load.pans,
              positions: runs((task.places ?? []).map(({ position }) => position)),
            },
          ];
        }),
      },
    ],
    allergens: book.allergensOfLoads(loads),
    cautions: ["raw-flour"],
  });
}

export function proofSheets(book: Book): Sheet[] {
  return book.day.network.sites.flatMap((site) =>
    site.proofers.flatMap((proofer) => prooferSheet(book, site, proofer) ?? []),
  );
}
