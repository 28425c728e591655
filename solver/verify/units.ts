import type {
  Bench,
  Deck,
  Fridge,
  Kettle,
  Mixer,
  Network,
  Oven,
  Proofer,
  Rack,
  Shelf,
  Site,
} from "../../schemas/index.js";
import { lastById } from "./by-id.js";

/** What a unit's name (site/station or site/station/part) names: of each kind the station with that id at the site, and its part. */
export interface UnitFact {
  readonly siteId: string;
  /** The name without the part. */
  readonly station: string;
  readonly site: Site | undefined;
  readonly mixer: Mixer | undefined;
  readonly bench: Bench | undefined;
  readonly kettle: Kettle | undefined;
  readonly proofer: Proofer | undefined;
  readonly rack: Rack | undefined;
  readonly oven: Oven | undefined;
  readonly deck: Deck | undefined;
  readonly fridge: Fridge | undefined;
  readonly shelf: Shelf | undefined;
}

function named<T extends { readonly id: string }>(
  items: readonly T[] | undefined,
  id: string | undefined,
): T | undefined {
  for (const item of items ?? []) if (item.id === id) return item;
  return undefined;
}

function readUnit(sites: ReadonlyMap<string, Site>, name: string): UnitFact {
  const [siteId, id, part] = name.split("/");
  const site = sites.get(siteId!);
  const oven = named(site?.ovens, id);
  const fridge = named(site?.fridges, id);
  return {
    siteId: siteId!,
    station: id === undefined ? siteId! : `${siteId}/${id}`,
    site,
    mixer: named(site?.mixers, id),
    bench: named(site?.benches, id),
    kettle: named(site?.kettles, id),
    proofer: named(site?.proofers, id),
    rack: named(site?.racks, id),
    oven,
    deck: named(oven?.decks, part),
    fridge,
    shelf: named(fridge?.shelves, part),
  };
}

/** A timetable that is not of the network may name anything. */
const MOST_UNITS = 20_000;

/** The units of a network by name, each read once. */
export class Units {
  private readonly known = new Map<string, UnitFact>();

  constructor(private readonly sites: ReadonlyMap<string, Site>) {}

  at(name: string): UnitFact {
    let unit = this.known.get(name);
    if (unit === undefined) {
      unit = readUnit(this.sites, name);
      if (this.known.size >= MOST_UNITS) this.known.clear();
      this.known.set(name, unit);
    }
    return unit;
  }
}

/** What of a network is looked up by id; of two with one id the last counts. */
export interface NetworkFacts {
  readonly sites: ReadonlyMap<string, Site>;
  readonly panTypes: ReadonlyMap<string, Network["panTypes"][number]>;
  readonly tubTypes: ReadonlyMap<string, Network["tubTypes"][number]>;
  readonly units: Units;
}

const networksKnown = new WeakMap<Network, NetworkFacts>();

export function networkFacts(network: Network): NetworkFacts {
  let facts = networksKnown.get(network);
  if (!facts) {
    const sites = lastById(network.sites);
    facts = {
      sites,
      panTypes: lastById(network.panTypes),
      tubTypes: lastById(network.tubTypes),
      units: new Units(sites),
    };
    networksKnown.set(network, facts);
  }
  return facts;
}
