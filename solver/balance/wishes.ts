import type { DayDocuments, Wish } from "../../schemas/index.js";
import type { BalanceOptions } from "../network/balance.js";
import type { DayIndex } from "../problem/day-index.js";
import { MILLS } from "../problem/site-rows.js";
import { choiceWords, isChosen, siteName, withLines } from "../scenario/change.js";

/** What wishes ask of the network program. */
export function planOf(index: DayIndex, wishes: readonly Wish[]): Pick<BalanceOptions, "limits" | "wishCost"> {
  const total = index.wants.reduce((sum, want) => sum + want.pieces, 0);
  const home = wishes.reduce((sum, wish) => sum + (wish.kind === "home" ? wish.perPiece : 0), 0);
  return {
    limits: wishes.flatMap((wish) =>
      wish.kind === "share"
        ? [
            {
              columns: ({ chain }) => chain.way.bakeSite === wish.site,
              least: (total * wish.leastPercent) / 100,
              most: (total * wish.mostPercent) / 100,
            },
          ]
        : [],
    ),
    wishCost: ({ chain }) => (chain.way.trip ? home * MILLS : 0),
  };
}

/** Lines that a wish fixes to a site, in the orders. */
export function withFixedLines(day: DayDocuments, wishes: readonly Wish[]): DayDocuments {
  const fixing = wishes.filter((wish) => wish.kind === "bake-at");
  if (fixing.length === 0) return day;
  return withLines(day, (line) => {
    const wish = fixing.find(({ of }) => isChosen(line, of));
    return wish ? { ...line, madeAt: wish.site } : line;
  });
}

export function wishWords(day: DayDocuments, wish: Wish): string {
  if (wish.kind === "bake-at") return `${choiceWords(day, wish.of)} baked at ${siteName(day, wish.site)}`;
  if (wish.kind === "home") return `home preferred, ${wish.perPiece.toFixed(2)} a piece that does not ride`;
  return `${siteName(day, wish.site)} bakes ${wish.leastPercent} to ${wish.mostPercent} % of all pieces`;
}
