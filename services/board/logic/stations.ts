import type { Site } from "../../../schemas/index.js";

/** Where a kitchen screen hangs. */
export interface Station {
  readonly id: string;
  readonly site: string;
  readonly kind: "mixer" | "fridge" | "bench" | "proofer" | "kettle" | "oven" | "rack" | "van";
  readonly name: string;
}

export function stationsOf(site: Site): Station[] {
  const of = (kind: Station["kind"], units: readonly { id: string; name: string }[]): Station[] =>
    units.map((unit) => ({ id: `${site.id}/${unit.id}`, site: site.id, kind, name: unit.name }));
  return [
    ...of("mixer", site.mixers),
    ...of("fridge", site.fridges),
    ...of("bench", site.benches),
    ...of("proofer", site.proofers),
    ...of("kettle", site.kettles),
    ...of("oven", site.ovens),
    ...of("rack", site.racks),
    { id: `${site.id}/~vans`, site: site.id, kind: "van", name: "Vans" },
  ];
}
