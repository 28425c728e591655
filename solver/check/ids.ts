import type { DocumentName } from "../../schemas/index.js";
import type { Check, Findings } from "./context.js";

function unique(
  findings: Findings,
  document: DocumentName,
  pointer: string,
  items: readonly { readonly id: string }[],
  what: string,
): void {
  const first = new Map<string, number>();
  items.forEach(({ id }, i) => {
    const earlier = first.get(id);
    if (earlier === undefined) first.set(id, i);
    else
      findings.add(
        "duplicate-id",
        document,
        `${pointer}/${i}/id`,
        `The ${what} ${id} is there twice (first as entry ${earlier + 1}).`,
        "Give one of them another id.",
      );
  });
}

/** Ids are unique among things that are referred to in the same way. */
export const checkIds: Check = (day, findings) => {
  const { network, catalogue, orders } = day;
  unique(findings, "network", "/sites", network.sites, "site");
  unique(findings, "network", "/vanRuns", network.vanRuns, "van run");
  const containers = [
    ...network.panTypes.map((type, i) => ({ type, pointer: `/panTypes/${i}/id` })),
    ...network.tubTypes.map((type, i) => ({ type, pointer: `/tubTypes/${i}/id` })),
  ];
  const seen = new Set<string>();
  for (const { type, pointer } of containers) {
    if (seen.has(type.id))
      findings.add(
        "duplicate-id",
        "network",
        pointer,
        `The container ${type.id} is there twice (pan and tub types share their ids).`,
        "Give one of them another id.",
      );
    seen.add(type.id);
  }
  network.sites.forEach((site, s) => {
    const at = `/sites/${s}`;
    const units = (["mixers", "fridges", "benches", "proofers", "kettles", "ovens", "racks"] as const).flatMap((kind) =>
      site[kind].map((unit, i) => ({ id: unit.id, pointer: `${at}/${kind}/${i}/id` })),
    );
    const known = new Set<string>();
    for (const { id, pointer } of units) {
      if (known.has(id))
        findings.add(
          "duplicate-id",
          "network",
          pointer,
          `The unit ${id} is at ${site.id} twice.`,
          "Give one of them another id.",
        );
      known.add(id);
    }
    unique(findings, "network", `${at}/crew`, site.crew, "crew group");
    site.fridges.forEach((fridge, i) =>
      unique(findings, "network", `${at}/fridges/${i}/shelves`, fridge.shelves, "shelf"),
    );
    site.ovens.forEach((oven, i) => unique(findings, "network", `${at}/ovens/${i}/decks`, oven.decks, "deck"));
  });
  for (const kind of ["allergens", "ingredients", "doughs", "products"] as const)
    unique(findings, "catalogue", `/${kind}`, catalogue[kind], kind.slice(0, -1));
  catalogue.products.forEach((product, p) =>
    unique(findings, "catalogue", `/products/${p}/routes`, product.routes, "route"),
  );
  unique(findings, "orders", "/lines", orders.lines, "order line");
};
