import { SHEET_KINDS } from "../../../solver/sheets/index.js";
import { readDayFolder, readTimetable } from "../../day-folder.js";
import { NotOurFolder, writeFolder } from "../../folder-of-files.js";
import { chosenSheets, sheetFiles, sheetsJson } from "../../sheets/bundle.js";
import type { Paper } from "../../sheets/layout.js";
import { UsageError } from "../arguments.js";
import { command } from "../command.js";
import { mustBeOfDay } from "../of-day.js";
import { badInput, EXIT } from "../outcome.js";

function paperOf(text: string | undefined): Paper | undefined {
  if (text === undefined || text === "a4" || text === "letter") return text;
  throw new UsageError(`--paper must be a4 or letter, not "${text}".`);
}

export const sheets = command({
  name: "sheets",
  summary: "printable sheets for every station, and as CSV and JSON",
  operands: ["DAY_DIR", "TIMETABLE"],
  options: {
    out: { kind: "text", label: "DIR", help: "write the files into this folder (empty, or filled by an earlier run)" },
    site: { kind: "texts", label: "ID", help: "only this site's sheets; may be given again" },
    kind: { kind: "texts", label: "KIND", help: "only sheets of this kind; may be given again" },
    paper: { kind: "text", label: "PAPER", help: "a4 or letter (default: the day's settings, else a4)" },
    json: { kind: "flag", help: "print the sheets as JSON instead of writing files" },
  },
  about: `Makes the sheets that hang at the stations: all.html and one HTML file a site to print in one go, every sheet as HTML and its
tables as CSV, and all of them in sheets.json. Each sheet is one page; long ones are several, each complete.`,
  notes: `Kinds: ${SHEET_KINDS.join(", ")}.`,
  examples: [
    "deckshelf sheets services/demo/ordinary-day friday.json --out friday-sheets",
    "deckshelf sheets services/demo/ordinary-day friday.json --out mixes --kind mix --kind pull",
  ],
  async run({ operands, options }) {
    const paper = paperOf(options.paper);
    if (options.out === undefined && !options.json) throw new UsageError("sheets needs --out DIR or --json.");
    for (const kind of options.kind) {
      if (!(SHEET_KINDS as readonly string[]).includes(kind))
        throw new UsageError(`There is no kind of sheet "${kind}"; there are ${SHEET_KINDS.join(", ")}.`);
    }
    const [read, table] = await Promise.all([readDayFolder(operands[0]!), readTimetable(operands[1]!)]);
    const issues = [...("issues" in read ? read.issues : []), ...("issues" in table ? table.issues : [])];
    if ("issues" in read || "issues" in table) return badInput(issues, options.json);
    const { day } = read;
    mustBeOfDay(day, table.timetable, operands[1]!);
    const siteIds = day.network.sites.map(({ id }) => id);
    for (const site of options.site) {
      if (!siteIds.includes(site)) throw new UsageError(`There is no site "${site}"; there are ${siteIds.join(", ")}.`);
    }
    const chosen = chosenSheets(day, table.timetable, { sites: options.site, kinds: options.kind });
    if (options.json) return { stdout: sheetsJson(chosen), stderr: "", code: EXIT.good };
    const files = sheetFiles(day, table.timetable, chosen, paper);
    try {
      await writeFolder(options.out!, files);
    } catch (error) {
      if (error instanceof NotOurFolder) throw new UsageError(error.message);
      throw error;
    }
    const counts = SHEET_KINDS.flatMap((kind) => {
      const count = chosen.filter((sheet) => sheet.kind === kind).length;
      return count > 0 ? [`${count} ${kind}`] : [];
    });
    return {
      stdout: `${chosen.length} sheets in ${options.out}: ${counts.join(", ")}.\nTo print everything: ${options.out}/all.html\n`,
      stderr: "",
      code: EXIT.good,
    };
  },
});
