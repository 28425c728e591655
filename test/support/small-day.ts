import { cp, readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";

/**
 * Of the demo's 84 lines: enough for two sites, all kinds of stations and a van, and a first plan in a tenth of the time. Give a budget in
 * seconds: with one in tries the bound of so small a day takes longer than that of the whole one.
 */
const LINES = 8;

function few<T>(lines: readonly T[]): T[] {
  const step = Math.floor(lines.length / LINES);
  return lines.filter((_, i) => i % step === 0).slice(0, LINES);
}

/** The documents of a day with few of its lines. */
export function withFewLines<D extends { readonly orders: { readonly lines: readonly unknown[] } }>(documents: D): D {
  return { ...documents, orders: { ...documents.orders, lines: few(documents.orders.lines) } };
}

/** Makes a day "small" on a server from its demo's ordinary day; answers its address there. */
export async function makeSmallDay(url: string, headers: Record<string, string> = {}): Promise<string> {
  const read = await fetch(`${url}/api/days/ordinary-day/documents`, { headers });
  const { documents } = (await read.json()) as { documents: { orders: { lines: unknown[] } } };
  const made = await fetch(`${url}/api/days/small`, {
    method: "PUT",
    headers: { ...headers, "Content-Type": "application/json", "If-None-Match": "*" },
    body: JSON.stringify(withFewLines(documents)),
  });
  if (made.status !== 201) throw new Error(`${made.status} ${await made.text()}`);
  return "/api/days/small";
}

/** A copy of a demo's folder with few of its lines. */
export async function smallFolder(parent: string, demo = "ordinary-day"): Promise<string> {
  const folder = join(parent, `small-${demo}`);
  await cp(join("services", "demo", demo), folder, { recursive: true });
  const [head, ...lines] = (await readFile(join(folder, "orders.csv"), "utf8")).trimEnd().split(/\r?\n/);
  await writeFile(join(folder, "orders.csv"), `${[head, ...few(lines)].join("\n")}\n`);
  return folder;
}
