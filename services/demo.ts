import { readFile } from "node:fs/promises";
import { join } from "node:path";
import type { RawInput } from "./days/checker-thread.js";
import type { Days } from "./days/days.js";
import { packageRoot } from "./package-root.js";
import { Problem } from "./problem.js";

export const DEMO_DAY = "ordinary-day";
export const DEMO_DAYS = [DEMO_DAY, "holiday-spike"];

async function inputsOf(folder: string): Promise<RawInput[]> {
  const read = (name: string): Promise<string> => readFile(join(folder, name), "utf8");
  const documents = ["network", "catalogue", "happenings", "settings"] as const;
  const json = await Promise.all(
    documents.map(async (document) => ({ document, text: await read(`${document}.json`), isCsv: false })),
  );
  return [...json, { document: "orders", text: await read("orders.csv"), isCsv: true }];
}

/** Loads the demo days into a store that has no days yet. */
export async function loadDemo(days: Days): Promise<void> {
  if ((await days.list()).length > 0) return;
  for (const id of DEMO_DAYS) {
    const inputs = await inputsOf(join(packageRoot(), "services", "demo", id));
    await days.load(id, inputs, { by: "demo", at: new Date().toISOString() }).catch((error: unknown) => {
      // Another server was quicker.
      if (!(error instanceof Problem && error.kind === "exists-already")) throw error;
    });
  }
}
