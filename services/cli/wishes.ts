import type { LineChoice, Wish } from "../../schemas/index.js";
import { UsageError } from "./arguments.js";
import { readGrow } from "./grow.js";

/** --fix product:baton=bridge-shop, --share quay-shop=20..40 */
export function readWishes(fixes: readonly string[], shares: readonly string[], home: number | undefined): Wish[] {
  const wishes: Wish[] = [];
  for (const text of fixes) {
    const at = text.lastIndexOf("=");
    const of = at > 0 ? readGrow(text.slice(0, at)) : undefined;
    const site = text.slice(at + 1).trim();
    if (at <= 0 || site === "")
      throw new UsageError(`--fix must be LINES=SITE, for example product:baton=bridge-shop, not "${text}".`);
    wishes.push({ kind: "bake-at", of: of ?? ({} as LineChoice), site });
  }
  for (const text of shares) {
    const found = /^([^=]+)=(\d+(?:\.\d+)?)\.\.(\d+(?:\.\d+)?)$/.exec(text.trim());
    if (!found || Number(found[2]) > Number(found[3]) || Number(found[3]) > 100)
      throw new UsageError(`--share must be SITE=LEAST..MOST in percent, for example quay-shop=20..40, not "${text}".`);
    wishes.push({ kind: "share", site: found[1]!, leastPercent: Number(found[2]), mostPercent: Number(found[3]) });
  }
  if (home !== undefined) wishes.push({ kind: "home", perPiece: home });
  return wishes;
}
