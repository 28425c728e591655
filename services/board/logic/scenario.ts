import type { CrewGroup, DayDocuments, Shift, Site, Weekday } from "../../../schemas/index.js";

/** One thing to imagine otherwise. */
export type Edit =
  | { readonly kind: "orders"; readonly factor: number; readonly site?: string; readonly product?: string }
  | { readonly kind: "unit-out"; readonly unit: string }
  | { readonly kind: "unit-more"; readonly unit: string }
  | { readonly kind: "people"; readonly site: string; readonly crew: string; readonly heads: number }
  | { readonly kind: "earlier"; readonly site: string; readonly crew: string; readonly minutes: number }
  | { readonly kind: "van"; readonly run: string; readonly departs: string }
  /** A change in the server's own form, as a remedy brings it; only the server applies it. */
  | { readonly kind: "change"; readonly change: object; readonly words: string };

export interface Scenario {
  readonly id: string;
  readonly name: string;
  readonly edits: readonly Edit[];
}

const DAYS: readonly Weekday[] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

/** An id like another that is not in use. */
function like(id: string, taken: ReadonlySet<string>): string {
  for (let n = 2; ; n++) {
    const candidate = `${id.slice(0, 50)}-x${n}`;
    if (!taken.has(candidate)) return candidate;
  }
}

function copyIn<T extends { readonly id: string; readonly name?: string }>(
  units: readonly T[],
  id: string,
  rename = true,
): T[] {
  const model = units.find((unit) => unit.id === id);
  if (!model) return [...units];
  const fresh = like(id, new Set(units.map((unit) => unit.id)));
  return [
    ...units,
    { ...model, id: fresh, ...(rename && model.name ? { name: `${model.name}, one more`.slice(0, 100) } : {}) },
  ];
}

function withUnit(site: Site, unitId: string, part: string | undefined): Site {
  if (part !== undefined) {
    return {
      ...site,
      ovens: site.ovens.map((oven) =>
        oven.id === unitId ? { ...oven, decks: copyIn(oven.decks, part, false) } : oven,
      ),
      fridges: site.fridges.map((fridge) =>
        fridge.id === unitId ? { ...fridge, shelves: copyIn(fridge.shelves, part, false) } : fridge,
      ),
    };
  }
  return {
    ...site,
    mixers: copyIn(site.mixers, unitId),
    fridges: copyIn(site.fridges, unitId),
    benches: copyIn(site.benches, unitId),
    proofers: copyIn(site.proofers, unitId),
    kettles: copyIn(site.kettles, unitId),
    ovens: copyIn(site.ovens, unitId),
    racks: copyIn(site.racks, unitId),
  };
}

const minuteOf = (time: string): number => Number(time.slice(0, 2)) * 60 + Number(time.slice(3));
const timeOf = (minute: number): string =>
  `${String(Math.floor(minute / 60)).padStart(2, "0")}:${String(minute % 60).padStart(2, "0")}`;

/** A shift that begins earlier; across midnight it begins on the day before. */
function earlier(shift: Shift, minutes: number): Shift {
  const from = minuteOf(shift.from) - minutes;
  if (from >= 0) return { ...shift, from: timeOf(from) };
  const days = DAYS.filter((_, i) => shift.days.includes(DAYS[(i + 1) % 7]!));
  return { ...shift, from: timeOf(from + 1440), days: days as Shift["days"] };
}

function inCrew(
  documents: DayDocuments,
  siteId: string,
  crewId: string,
  change: (group: CrewGroup) => CrewGroup,
): DayDocuments {
  const sites = documents.network.sites.map((site) =>
    site.id === siteId
      ? { ...site, crew: site.crew.map((group) => (group.id === crewId ? change(group) : group)) }
      : site,
  );
  return { ...documents, network: { ...documents.network, sites: sites as typeof documents.network.sites } };
}

function applyOne(documents: DayDocuments, edit: Edit): DayDocuments {
  const { network, orders, happenings, settings } = documents;
  switch (edit.kind) {
    case "orders": {
      const lines = orders.lines.map((line) =>
        (edit.site === undefined || line.site === edit.site) &&
        (edit.product === undefined || line.product === edit.product)
          ? { ...line, pieces: Math.max(1, Math.round(line.pieces * edit.factor)) }
          : line,
      );
      return { ...documents, orders: { ...orders, lines } };
    }
    case "unit-out":
      return {
        ...documents,
        happenings: {
          ...happenings,
          happenings: [
            ...happenings.happenings,
            { kind: "out-of-service", unit: edit.unit, from: settings.window.from },
          ],
        },
      };
    case "unit-more": {
      const [siteId, unitId, part] = edit.unit.split("/");
      const sites = network.sites.map((site) => (site.id === siteId ? withUnit(site, unitId!, part) : site));
      return { ...documents, network: { ...network, sites: sites as typeof network.sites } };
    }
    case "people":
      return inCrew(documents, edit.site, edit.crew, (group) => ({
        ...group,
        shifts: group.shifts
          .map((shift) => ({ ...shift, heads: shift.heads + edit.heads }))
          .filter((shift) => shift.heads > 0),
      }));
    case "earlier":
      return inCrew(documents, edit.site, edit.crew, (group) => {
        const first = group.shifts.findIndex((shift) => shift.overtimeCostPerHour === undefined);
        return {
          ...group,
          shifts: group.shifts.map((shift, i) => (i === first ? earlier(shift, edit.minutes) : shift)),
        };
      });
    case "change":
      return documents;
    case "van": {
      const model = network.vanRuns.find((run) => run.id === edit.run);
      if (!model) return documents;
      const id = like(model.id, new Set(network.vanRuns.map((run) => run.id)));
      const fresh = { ...model, id, name: `${model.name} ${edit.departs}`.slice(0, 100), departs: edit.departs };
      return { ...documents, network: { ...network, vanRuns: [...network.vanRuns, fresh] } };
    }
  }
}

/** The documents with everything imagined. The stored ones are not touched. */
export function applyEdits(documents: DayDocuments, edits: readonly Edit[]): DayDocuments {
  const { inForce: _, ...bare } = edits.reduce(applyOne, documents);
  return bare;
}

/** One line for an edit, in words. */
export function editText(documents: DayDocuments, edit: Edit): string {
  const siteName = (id: string): string => documents.network.sites.find((site) => site.id === id)?.name ?? id;
  const crewName = (site: string, crew: string): string =>
    documents.network.sites.find((one) => one.id === site)?.crew.find((group) => group.id === crew)?.name ?? crew;
  switch (edit.kind) {
    case "orders": {
      const what = edit.product
        ? (documents.catalogue.products.find((product) => product.id === edit.product)?.name ?? edit.product)
        : "all orders";
      return `${what}${edit.site ? ` for ${siteName(edit.site)}` : ""} × ${edit.factor}`;
    }
    case "unit-out":
      return `without ${unitText(documents, edit.unit)}`;
    case "unit-more":
      return `one more like ${unitText(documents, edit.unit)}`;
    case "people":
      return `${edit.heads > 0 ? "+" : "−"}${Math.abs(edit.heads)} in ${crewName(edit.site, edit.crew)}, ${siteName(edit.site)}`;
    case "earlier":
      return `${crewName(edit.site, edit.crew)}, ${siteName(edit.site)}, begins ${edit.minutes} min earlier`;
    case "change":
      return edit.words;
    case "van": {
      const run = documents.network.vanRuns.find((candidate) => candidate.id === edit.run);
      return `one more van like ${run?.name ?? edit.run}, leaving ${edit.departs}`;
    }
  }
}

/** Every unit of the network with its name; decks too. */
export function allUnits(documents: DayDocuments): { readonly ref: string; readonly name: string }[] {
  return documents.network.sites.flatMap((site) => [
    ...[
      ...site.mixers,
      ...site.fridges,
      ...site.benches,
      ...site.proofers,
      ...site.kettles,
      ...site.ovens,
      ...site.racks,
    ].map((unit) => ({
      ref: `${site.id}/${unit.id}`,
      name: `${unit.name}, ${site.name}`,
    })),
    ...site.ovens.flatMap((oven) =>
      oven.decks.map((deck) => ({
        ref: `${site.id}/${oven.id}/${deck.id}`,
        name: `${oven.name}, ${deck.id.replace(/-/g, " ")}, ${site.name}`,
      })),
    ),
  ]);
}

function unitText(documents: DayDocuments, ref: string): string {
  return allUnits(documents).find((unit) => unit.ref === ref)?.name ?? ref;
}

/** Edits as changes of a scenario document, for what only the server applies; undefined when some of them have no such form here. */
export function asChanges(edits: readonly Edit[]): object[] | undefined {
  const changes: object[] = [];
  for (const edit of edits) {
    if (edit.kind === "change") changes.push(edit.change);
    else if (edit.kind === "orders") {
      const of = {
        ...(edit.site ? { sites: [edit.site] } : {}),
        ...(edit.product ? { products: [edit.product] } : {}),
      };
      changes.push({ kind: "multiply-orders", times: edit.factor, ...(Object.keys(of).length > 0 ? { of } : {}) });
    } else return undefined;
  }
  return changes;
}
