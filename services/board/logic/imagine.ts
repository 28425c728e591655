import type { DayChange, DayDocuments, LineChoice } from "../../../schemas/index.js";
import { type Ask, type Asking, askable, type Choice, type Values } from "./asks.js";
import { allUnits } from "./scenario.js";

const split = (value: string | undefined): string[] => (value ?? "").split("/");

/** The lines that "for" and "product" speak of. */
function linesOf(values: Values): { of?: LineChoice } {
  const of = {
    ...(values.product ? { products: [values.product] } : {}),
    ...(values.for ? { sites: [values.for] } : {}),
  } as LineChoice;
  return Object.keys(of).length > 0 ? { of } : {};
}

/** All that can be imagined of a day, by what it is about. Kinds that the day has nothing for are left out. */
export function imaginings(documents: DayDocuments): Asking<DayChange>[] {
  const { network, catalogue, settings } = documents;
  const sites = network.sites.map((site): Choice => ({ value: site.id, text: site.name }));
  const products = catalogue.products.map((product): Choice => ({ value: product.id, text: product.name }));
  const units = allUnits(documents).map((unit): Choice => ({ value: unit.ref, text: unit.name }));
  const decksFirst = [...units].sort((a, b) => split(b.value).length - split(a.value).length);
  const at = <T>(list: (site: (typeof network.sites)[number]) => readonly T[], choice: (one: T) => Choice): Choice[] =>
    network.sites.flatMap((site) =>
      list(site).map((one) => {
        const { value, text } = choice(one);
        return { value: `${site.id}/${value}`, text: `${text}, ${site.name}` };
      }),
    );
  const named = (one: { readonly id: string; readonly name: string }): Choice => ({ value: one.id, text: one.name });
  const crews = at(({ crew }) => crew, named);
  const fridges = at(({ fridges }) => fridges, named);
  const panName = (id: string): string => network.panTypes.find((type) => type.id === id)?.name ?? id;
  const tubName = (id: string): string => network.tubTypes.find((type) => type.id === id)?.name ?? id;
  const pans = at(
    ({ pans }) => pans,
    ({ panType }) => ({ value: panType, text: panName(panType) }),
  );
  const tubs = at(
    ({ tubs }) => tubs,
    ({ tubType }) => ({ value: tubType, text: tubName(tubType) }),
  );
  const runs = network.vanRuns.map(named);
  const product: Ask = {
    key: "product",
    label: "Product",
    is: "choice",
    choices: [{ value: "", text: "every product" }, ...products],
  };
  const forSite: Ask = {
    key: "for",
    label: "For",
    is: "choice",
    choices: [{ value: "", text: "every site" }, ...sites],
  };
  const crew: Ask = { key: "crew", label: "Crew", is: "choice", choices: crews };
  const all: Asking<DayChange>[] = [
    {
      id: "orders",
      text: "more or fewer orders",
      asks: [{ key: "times", label: "Times", is: "number", first: 1.3, min: 0.05, max: 20 }, forSite, product],
      make: (values) => ({ kind: "multiply-orders", ...linesOf(values), times: Number(values.times) }),
    },
    {
      id: "due",
      text: "orders wanted later or earlier",
      asks: [
        {
          key: "minutes",
          label: "Minutes later (− for earlier)",
          is: "number",
          first: 30,
          min: -1440,
          max: 1440,
          step: 1,
        },
        forSite,
        product,
      ],
      make: (values) => ({ kind: "move-due", ...linesOf(values), minutesLater: Number(values.minutes) }),
    },
    {
      id: "bake-at",
      text: "orders baked at another site",
      asks: [{ key: "site", label: "Baked at", is: "choice", choices: sites }, forSite, product],
      make: (values) => ({ kind: "bake-at", ...linesOf(values), site: values.site! }),
    },
    {
      id: "unit-out",
      text: "without a unit",
      asks: [{ key: "unit", label: "Without", is: "choice", choices: decksFirst }],
      make: ({ unit }) => ({
        kind: "unplanned",
        happening: { kind: "out-of-service", unit: unit!, from: settings.window.from },
      }),
    },
    {
      id: "unit-more",
      text: "one more unit",
      asks: [{ key: "unit", label: "One more like", is: "choice", choices: decksFirst }],
      make: ({ unit }) => ({ kind: "another-unit", like: unit! }),
    },
    {
      id: "fridge",
      text: "a rented fridge",
      asks: [
        { key: "fridge", label: "Like", is: "choice", choices: fridges },
        { key: "shelves", label: "Shelves", is: "number", first: 10, min: 1, max: 200, step: 1 },
      ],
      make: ({ fridge, shelves }) => {
        const [site, like] = split(fridge);
        return { kind: "rent-fridge", site: site!, like: like!, shelves: Number(shelves) };
      },
    },
    {
      id: "pans",
      text: "more pans",
      asks: [
        { key: "pan", label: "Pans", is: "choice", choices: pans },
        { key: "count", label: "How many more", is: "number", first: 20, min: 1, max: 100000, step: 1 },
      ],
      make: ({ pan, count }) => {
        const [site, panType] = split(pan);
        return { kind: "more-pans", site: site!, panType: panType!, count: Number(count) };
      },
    },
    {
      id: "tubs",
      text: "more tubs",
      asks: [
        { key: "tub", label: "Tubs", is: "choice", choices: tubs },
        { key: "count", label: "How many more", is: "number", first: 10, min: 1, max: 100000, step: 1 },
      ],
      make: ({ tub, count }) => {
        const [site, tubType] = split(tub);
        return { kind: "more-tubs", site: site!, tubType: tubType!, count: Number(count) };
      },
    },
    {
      id: "people",
      text: "more or fewer people",
      asks: [
        crew,
        { key: "heads", label: "People more (− for fewer)", is: "number", first: 1, min: -50, max: 50, step: 1 },
      ],
      make: (values) => {
        const [site, id] = split(values.crew);
        return { kind: "crew-size", site: site!, crew: id!, heads: Number(values.heads) };
      },
    },
    {
      id: "shift",
      text: "longer or other shifts",
      asks: [
        crew,
        {
          key: "earlier",
          label: "Begin so many minutes earlier",
          is: "number",
          first: 60,
          min: -720,
          max: 720,
          step: 1,
        },
        { key: "later", label: "End so many minutes later", is: "number", first: 0, min: -720, max: 720, step: 1 },
      ],
      make: (values) => {
        const [site, id] = split(values.crew);
        return {
          kind: "shift-hours",
          site: site!,
          crew: id!,
          minutesEarlier: Number(values.earlier),
          minutesLater: Number(values.later),
        };
      },
    },
    {
      id: "van",
      text: "one more van run",
      asks: [
        { key: "run", label: "Like", is: "choice", choices: runs },
        { key: "departs", label: "Leaving at", is: "time", first: "06:00" },
      ],
      make: ({ run, departs }) => ({ kind: "another-run", like: run!, departs: departs! }),
    },
    {
      id: "begin",
      text: "the day begins earlier",
      asks: [{ key: "minutes", label: "Minutes earlier", is: "number", first: 120, min: 1, max: 4320, step: 1 }],
      make: ({ minutes }) => ({ kind: "start-earlier", minutes: Number(minutes) }),
    },
  ];
  return askable(all);
}
