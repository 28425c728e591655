import type { Site } from "../../../schemas/index.js";
import { CannotChange, changeKind, freshId, siteName, UNIT_LISTS, unitName, withSite } from "../change.js";

interface Named {
  readonly id: string;
  readonly name?: string;
}

function unknown(unit: string): CannotChange {
  return new CannotChange(
    "unknown-unit",
    "like",
    `Unit "${unit}" is not in the network.`,
    "Name a unit as site/unit, or a deck or shelf as site/unit/part.",
  );
}

/** The list with a copy of one of its entries at the end. */
function withCopy<T extends Named>(list: readonly T[], id: string, unit: string): T[] {
  const model = list.find((entry) => entry.id === id);
  if (!model) throw unknown(unit);
  return [
    ...list,
    { ...model, id: freshId(id, list), ...(model.name === undefined ? {} : { name: `${model.name}, extra` }) },
  ];
}

function withUnit(site: Site, unit: string): Site {
  const [, id, part] = unit.split("/") as [string, string, string | undefined];
  for (const name of UNIT_LISTS) {
    const list: readonly Named[] = site[name];
    if (!list.some((entry) => entry.id === id)) continue;
    if (part === undefined) return { ...site, [name]: withCopy(list, id, unit) };
    const within = name === "ovens" ? "decks" : name === "fridges" ? "shelves" : null;
    if (!within) throw unknown(unit);
    const owners = list.map((entry) =>
      entry.id === id
        ? { ...entry, [within]: withCopy((entry as unknown as Record<string, Named[]>)[within]!, part, unit) }
        : entry,
    );
    return { ...site, [name]: owners };
  }
  throw unknown(unit);
}

export const anotherUnit = changeKind<"another-unit">({
  kind: "another-unit",
  apply: (day, { like }) => withSite(day, like.split("/")[0]!, (site) => withUnit(site, like)),
  words: (day, { like }) => {
    const id = like.split("/")[0]!;
    const what = like.split("/").length > 2 ? "one more like" : "a second";
    return `${what} ${unitName(day, like)} at ${siteName(day, id)}`;
  },
});
