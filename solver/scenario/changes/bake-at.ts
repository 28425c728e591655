import { CannotChange, changeKind, checkChoice, choiceWords, isChosen, siteName, withLines } from "../change.js";

export const bakeAt = changeKind<"bake-at">({
  kind: "bake-at",
  apply: (day, { of, site }) => {
    checkChoice(day, of);
    if (site !== undefined && !day.network.sites.some(({ id }) => id === site))
      throw new CannotChange(
        "unknown-site",
        "site",
        `Site "${site}" is not in the network.`,
        "Name one of the network's sites.",
      );
    return withLines(day, (line) => {
      if (!isChosen(line, of)) return line;
      const { madeAt: _, ...rest } = line;
      return site === undefined ? rest : { ...rest, madeAt: site };
    });
  },
  words: (day, { of, site }) =>
    site === undefined
      ? `${choiceWords(day, of)} baked anywhere`
      : `${choiceWords(day, of)} baked at ${siteName(day, site)}`,
});
