import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";

/** Public benchmark sets are read from here when they are there; tests that need them say "not run" when not. */
const FOLDER = process.env.DECKSHELF_REFERENCE ?? join("..", "shared", "reference", "data");

export function hasReference(set: string): boolean {
  return existsSync(join(FOLDER, set));
}

export function referenceText(set: string, file: string): string {
  return readFileSync(join(FOLDER, set, file), "utf8");
}

/** Rows of a set's table of known values, by column name. */
export function known(set: string, file = "known.csv"): Record<string, string>[] {
  if (!hasReference(set)) return [];
  const [header, ...rows] = referenceText(set, file).trim().split(/\r?\n/);
  const names = header!.split(",");
  return rows.map((row) => Object.fromEntries(row.split(",").map((cell, i) => [names[i] ?? `column-${i}`, cell])));
}
