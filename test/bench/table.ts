import { loadavg } from "node:os";

/** A table in columns that line up: the first to the left, numbers to the right. */
export function table(header: readonly string[], rows: readonly (readonly (string | number)[])[]): string {
  const all = [header, ...rows.map((row) => row.map(String))];
  const widths = header.map((_, c) => Math.max(...all.map((row) => (row[c] ?? "").length)));
  const line = (row: readonly string[]): string =>
    row
      .map((cell, c) => (c === 0 ? cell.padEnd(widths[c]!) : cell.padStart(widths[c]!)))
      .join("  ")
      .trimEnd();
  return `${all.map(line).join("\n")}\n`;
}

/** How busy the machine is; belongs over every table. */
export function loadText(): string {
  return `load average ${loadavg()
    .map((value) => value.toFixed(2))
    .join(" ")}`;
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor((sorted.length - 1) / 2)] ?? Number.NaN;
}
