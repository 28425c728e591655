import type { Site } from "../../schemas/index.js";
import type { Sheet } from "./model.js";

type Given = Pick<Sheet, "kind" | "title" | "subtitle" | "from" | "tables"> &
  Partial<Pick<Sheet, "facts" | "drawings" | "allergens" | "cautions" | "notes">> & { readonly name: string };

/** A sheet of a site; `name` makes its id unique among those of its kind and site. */
export function sheetOf(site: Site, { name, ...given }: Given): Sheet {
  return {
    facts: [],
    drawings: [],
    allergens: null,
    cautions: [],
    notes: [],
    ...given,
    id: [site.id, given.kind, name].filter((part) => part !== "").join("--"),
    site: site.id,
    siteName: site.name,
    timeZone: site.timeZone,
  };
}
