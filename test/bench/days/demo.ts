import { join } from "node:path";
import { readDayFolder } from "../../../services/day-folder.js";
import { DEMO_DAYS } from "../../../services/demo.js";
import { type ClockKind, secondsText } from "../clock.js";
import { loadText } from "../table.js";
import { type NamedDay, printProfile, rowsTable, runDays } from "./bench.js";

const FOLDER = "services/demo";

/** Benchmarks the demo's whole days; 1 when a timetable breaks a rule. */
export async function benchDemo(
  seconds: readonly number[],
  seeds: readonly number[],
  options: { readonly isProfiled: boolean; readonly clock: ClockKind },
): Promise<number> {
  const days: NamedDay[] = [];
  for (const name of DEMO_DAYS) {
    const read = await readDayFolder(join(FOLDER, name));
    if ("issues" in read) throw new Error(`${name} does not pass its checks: ${read.issues[0]!.message}`);
    for (const seed of seeds) days.push({ name: `${name}-${seed}`, size: 0, seed, day: read.day });
  }
  const before = loadText();
  const rows = await runDays(days, seconds, options);
  process.stdout.write(
    `Before: ${before}; after: ${loadText()}. One thread a run; ${secondsText(options.clock)}.\n\n${rowsTable(rows)}`,
  );
  printProfile(rows);
  return rows.some((row) => row.run.breaches > 0) ? 1 : 0;
}
