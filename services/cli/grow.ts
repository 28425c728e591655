import type { LineChoice } from "../../schemas/index.js";
import { UsageError } from "./arguments.js";

/** --grow all, or lists such as product:plain-ring,customer:"Shop opening",site:quay-shop: lines that are all of it. */
export function readGrow(text: string | undefined): LineChoice | undefined {
  if (text === undefined || text === "all") return undefined;
  const found = { products: [] as string[], customers: [] as string[], sites: [] as string[], lines: [] as string[] };
  const fields = { product: "products", customer: "customers", site: "sites", line: "lines" } as const;
  for (const part of text.split(",")) {
    const at = part.indexOf(":");
    const field = fields[part.slice(0, Math.max(0, at)).trim() as keyof typeof fields];
    const value = part.slice(at + 1).trim();
    if (!field || value === "")
      throw new UsageError(
        `--grow must be all, or a list of product:, customer:, site: or line: with a name, not "${part}".`,
      );
    found[field].push(value);
  }
  return Object.fromEntries(Object.entries(found).filter(([, list]) => list.length > 0)) as LineChoice;
}
