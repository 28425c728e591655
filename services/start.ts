import { join } from "node:path";
import type { DrawResult } from "../solver/index.js";
import { readDayFolder, writeAtomically } from "./day-folder.js";
import { packageRoot } from "./package-root.js";
import { runOnce } from "./solving/run.js";
import { breachText, issuesText, summaryText, wantingText } from "./text/index.js";

/** `npm start`: draws up the demo day and says where the timetable is. */
const root = packageRoot();
const folder = join(root, "services", "demo", "ordinary-day");
const file = join(root, ".deckshelf", "timetables", "ordinary-day.json");
const read = await readDayFolder(folder);
if ("issues" in read) {
  process.stderr.write(`${issuesText(read.issues)}\n`);
  process.exitCode = 2;
} else {
  const result = await runOnce<DrawResult>("draw", read.day, {});
  if (result.breaches.length > 0) {
    process.stderr.write(`${breachText(result.breaches)}\n`);
    process.exitCode = 3;
  } else {
    await writeAtomically(file, `${JSON.stringify(result.timetable, null, 2)}\n`);
    const parts = [
      summaryText(read.day, result.timetable, result),
      wantingText(read.day, result.timetable),
      "The verifier found no rule broken.",
      `Timetable: ${file}\nEvery station's list: npm run -s deckshelf -- draw services/demo/ordinary-day`,
    ];
    process.stdout.write(`${parts.filter((part) => part !== "").join("\n\n")}\n`);
  }
}
