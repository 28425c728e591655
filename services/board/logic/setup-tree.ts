import type { DayDocuments } from "../../../schemas/index.js";
import type { Path } from "./schema-form.js";

export type EditableDocument = "network" | "catalogue" | "settings";

/** A place in the documents that has a form of its own. */
export interface Place {
  readonly key: string;
  readonly document: EditableDocument;
  readonly path: Path;
  readonly definition: string;
  readonly name: string;
  readonly depth: number;
  /** A list that this place can be added to or removed from. */
  readonly list?: Path;
  readonly leaveOut: readonly string[];
}

const SITE_PARTS = [
  ["mixers", "Mixer"],
  ["fridges", "Fridge"],
  ["benches", "Bench"],
  ["proofers", "Proofer"],
  ["kettles", "Kettle"],
  ["ovens", "Oven"],
  ["racks", "Rack"],
  ["crew", "CrewGroup"],
] as const;

function place(
  document: EditableDocument,
  path: Path,
  definition: string,
  name: string,
  depth: number,
  more: Partial<Place> = {},
): Place {
  return { key: `${document} ${path.join("/")}`, document, path, definition, name, depth, leaveOut: [], ...more };
}

/** Everything that can be set up, as an indented list. */
export function placesOf({
  network,
  catalogue,
  settings,
}: Pick<DayDocuments, "network" | "catalogue" | "settings">): Place[] {
  const places: Place[] = [
    place("settings", [], "Settings", `The day: ${settings.name}`, 0),
    place("network", [], "Network", `Network: ${network.name}`, 0, {
      leaveOut: ["panTypes", "tubTypes", "sites", "vanRuns"],
    }),
  ];
  network.sites.forEach((site, i) => {
    places.push(
      place("network", ["sites", i], "Site", site.name, 0, {
        list: ["sites"],
        leaveOut: SITE_PARTS.map(([key]) => key),
      }),
    );
    for (const [key, definition] of SITE_PARTS)
      site[key].forEach((unit, k) => {
        places.push(place("network", ["sites", i, key, k], definition, unit.name, 1, { list: ["sites", i, key] }));
      });
  });
  network.vanRuns.forEach((run, i) => {
    places.push(place("network", ["vanRuns", i], "VanRun", `Van: ${run.name}`, 0, { list: ["vanRuns"] }));
  });
  network.panTypes.forEach((type, i) => {
    places.push(place("network", ["panTypes", i], "PanType", `Pan: ${type.name}`, 0, { list: ["panTypes"] }));
  });
  network.tubTypes.forEach((type, i) => {
    places.push(place("network", ["tubTypes", i], "TubType", `Tub: ${type.name}`, 0, { list: ["tubTypes"] }));
  });
  places.push(
    place("catalogue", [], "Catalogue", `Catalogue: ${catalogue.name}`, 0, {
      leaveOut: ["doughs", "products", "ingredients"],
    }),
    place("catalogue", ["ingredients"], "Ingredients", "Ingredients", 0),
  );
  catalogue.doughs.forEach((dough, i) => {
    places.push(place("catalogue", ["doughs", i], "Dough", dough.name, 0, { list: ["doughs"] }));
    catalogue.products.forEach((product, k) => {
      if (product.dough === dough.id)
        places.push(place("catalogue", ["products", k], "Product", product.name, 1, { list: ["products"] }));
    });
  });
  return places;
}

/** The place whose form shows a pointer of a document. */
export function placeOf(places: readonly Place[], document: string, pointer: string): Place | undefined {
  const fits = places.filter(
    (one) => one.document === document && `${pointer}/`.startsWith(`${one.path.map((key) => `/${key}`).join("")}/`),
  );
  return fits.sort((a, b) => b.path.length - a.path.length)[0];
}
