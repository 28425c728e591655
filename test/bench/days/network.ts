import type {
  BakeStep,
  Deck,
  Network,
  PanType,
  Product,
  Site,
  Step,
  TubType,
  Weekday,
} from "../../../schemas/index.js";
import { positionsOnShelf } from "../../../solver/geometry/index.js";
import type { Rng } from "../../../solver/rng.js";
import { pansOf, type Wanted } from "./demand.js";

/** Kitchens as large as their orders ask for: each station is counted from the work that is due by each round. */

const DAYS: Weekday[] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
const ZONE = "Europe/Dublin";

export const PAN_TYPES: PanType[] = [
  { id: "sheet", name: "Sheet 660 x 457", widthMm: 660, depthMm: 457, heightMm: 25, rimMm: 10, massG: 1600 },
  { id: "board", name: "Board 600 x 400", widthMm: 600, depthMm: 400, heightMm: 20, massG: 1300 },
];
// biome-ignore format: one container a line is a table
const TUB: TubType = { id: "tub", name: "Tub 600 x 400", widthMm: 600, depthMm: 400, heightMm: 150, innerWidthMm: 560, innerDepthMm: 360, maxDoughG: 11000, massG: 1400, vanPositions: 1 };
const TUB_G = 8000;
const PANS_ON_DECK = 4;
const DOOR_MINUTES = 3;
/** Minutes from midnight at which ovens and night hands begin to give something. */
const NIGHT_FROM = 75;
/** From the end of the bake to the round: cooling, packing, carrying. */
const AFTER_BAKE = 30;
const VAN_MINUTES = 70;

/** Part of an order that is baked at a site by a minute. */
interface Work {
  readonly wanted: Wanted;
  readonly bakedBy: number;
  readonly share: number;
}

function stepOf<D extends Step["does"]>(product: Product, does: D): Extract<Step, { does: D }> | undefined {
  return product.routes[0]!.steps.find((step): step is Extract<Step, { does: D }> => step.does === does);
}

function leastMinutes(product: Product, does: "proof" | "cool"): number {
  const step = product.routes[0]!.steps.find((candidate) => candidate.does === does);
  return step && "leastMinutes" in step ? step.leastMinutes : 0;
}

function bakeOf(product: Product): BakeStep {
  return stepOf(product, "bake")!;
}

const retardsPans = (product: Product): boolean => product.routes[0]!.id === "pans";
/** May a shop bake it off? */
const ridesRaw = (product: Product): boolean =>
  product.routes.some((route) => route.handOvers?.some((handOver) => handOver !== "baked"));

/** How many units of something do the work in time, each busy for `share` of it. */
function needed(work: readonly Work[], amount: (work: Work) => number, share: number, from = NIGHT_FROM): number {
  const sorted = [...work].sort((a, b) => a.bakedBy - b.bakedBy);
  let sum = 0;
  let most = 0;
  for (const item of sorted) {
    sum += amount(item) * item.share;
    most = Math.max(most, sum / Math.max(60, item.bakedBy - from));
  }
  return Math.max(1, Math.ceil(most / share));
}

const handMinutes = (product: Product, does: "shape" | "top" | "pack", pieces: number, pans: number): number => {
  const step = stepOf(product, does);
  return step ? (pieces * (step.secondsPerPiece ?? 0) + pans * (step.secondsPerPan ?? 0)) / 60 + pans / 2 : 0;
};

/** Minutes of one kettle or bath for the pieces, by the bench's own kettle. */
function boilMinutes(product: Product, pieces: number): number {
  const step = stepOf(product, "boil");
  return step ? (Math.ceil(pieces / 22) * (step.sides * step.secondsPerSide + 30)) / 60 + 1 : 0;
}

const deckMinutes = ({ wanted }: Work): number =>
  (pansOf(wanted) * (bakeOf(wanted.product).minutes + DOOR_MINUTES)) / PANS_ON_DECK;

function nightHands({ wanted }: Work): number {
  const { product, pieces } = wanted;
  const pans = pansOf(wanted);
  const shape = retardsPans(product) ? 0 : handMinutes(product, "shape", pieces, pans);
  const after = handMinutes(product, "top", pieces, pans) + handMinutes(product, "pack", pieces, pans);
  return shape + after + boilMinutes(product, pieces) + pans;
}

const doughG = ({ wanted, share }: Work): number => wanted.pieces * wanted.product.pieceG * share;
const sum = (work: readonly Work[], of: (item: Work) => number): number =>
  work.reduce((total, item) => total + of(item), 0);

function decksOf(count: number, big: boolean): Deck[] {
  return Array.from({ length: count }, (_, d) => ({
    id: `deck-${d + 1}`,
    widthMm: big ? 1400 : 1350,
    depthMm: big ? 960 : 940,
    clearHeightMm: 180,
    maxTempC: big ? 290 : 260,
    coldStartMinutes: big ? 60 : 45,
    heatUpCPerMinute: 3,
    coolDownCPerMinute: 1.5,
    doorRecoveryMinutes: DOOR_MINUTES,
    powerKw: big ? 7.5 : 5.5,
    gapMm: 5,
  }));
}

function ovensOf(decks: number, perOven: number, big: boolean): Site["ovens"] {
  return Array.from({ length: Math.ceil(decks / perOven) }, (_, o) => ({
    id: `oven-${o + 1}`,
    name: `Oven ${o + 1}`,
    sharedThermostat: !big,
    decks: decksOf(Math.min(perOven, decks - o * perOven), big),
  }));
}

/** A fridge with shelves for so many pans and tubs. */
function fridgesOf(pans: number, tubs: number, heatW: number): Site["fridges"] {
  const shelf = { widthMm: 1450, depthMm: 700, clearHeightMm: 170, maxMassG: 80000 };
  const fridge = { id: "fridge-1", name: "Retarder", airTempC: 3, filmWPerM2K: 12, heatRemovalW: heatW, gapMm: 10 };
  const bare = { ...fridge, shelves: [] };
  const onShelf = (container: Parameters<typeof positionsOnShelf>[2]): number =>
    positionsOnShelf(bare, { id: "shelf", ...shelf }, container).count;
  const forPans = onShelf({ kind: "pan", panType: PAN_TYPES[0]!, itemHeightMm: 55, itemMassG: 4000 });
  const forTubs = onShelf({ kind: "tub", tubType: TUB, itemMassG: 1400 + TUB_G });
  const count = Math.min(500, 2 + Math.ceil(pans / forPans) + Math.ceil(tubs / forTubs));
  return [{ ...fridge, shelves: Array.from({ length: count }, (_, s) => ({ id: `shelf-${s + 1}`, ...shelf })) }];
}

function half(heads: number): number {
  return Math.max(1, Math.floor(heads / 2));
}

/** Breaks in two turns; one person alone takes the first. */
function breaks(heads: number, first: string, second: string, end: string) {
  const turns = [{ from: first, to: second, heads: half(heads) }];
  return heads > 1 ? [...turns, { from: second, to: end, heads: heads - half(heads) }] : turns;
}

interface SiteSize {
  readonly decks: number;
  readonly night: number;
  readonly proofing: number;
  readonly cooling: number;
}

function sizes(work: readonly Work[], share: number): SiteSize {
  const standing =
    (does: "proof" | "cool") =>
    ({ wanted }: Work): number =>
      pansOf(wanted) * (leastMinutes(wanted.product, does) + 8);
  return {
    decks: needed(work, deckMinutes, share, NIGHT_FROM + 30),
    night: needed(work, nightHands, share, NIGHT_FROM),
    proofing: Math.max(12, needed(work, standing("proof"), share * 0.8)),
    cooling: Math.max(12, needed(work, standing("cool"), share * 0.8)),
  };
}

function commissary(id: string, work: readonly Work[], share: number): Site {
  const { decks, night, proofing, cooling } = sizes(work, share);
  const overnight = work.filter(({ wanted }) => retardsPans(wanted.product));
  const totalG = sum(work, doughG);
  const runs = totalG / 45_000;
  const mixing = runs * 20;
  const shaping = sum(
    overnight,
    ({ wanted, share: part }) => part * handMinutes(wanted.product, "shape", wanted.pieces, pansOf(wanted)),
  );
  const evening = Math.max(2, Math.ceil(mixing / (320 * share) + shaping / (420 * share)));
  const pansOvernight = Math.ceil(sum(overnight, ({ wanted, share: part }) => part * pansOf(wanted)));
  const tubs = Math.ceil(((totalG - sum(overnight, doughG)) / TUB_G) * 1.6) + 8;
  const pans = Math.ceil(sum(work, ({ wanted, share: part }) => part * pansOf(wanted)));
  const overtime = Math.max(1, Math.round(night / 4));
  const kettles = (isLye: boolean): number => {
    const own = work.filter(({ wanted }) => {
      const boil = stepOf(wanted.product, "boil");
      return boil !== undefined && (boil.lyePercent !== undefined) === isLye;
    });
    return own.length === 0 ? 0 : needed(own, ({ wanted }) => boilMinutes(wanted.product, wanted.pieces), share * 0.8);
  };
  const bath = (kettle: string, litres: number) => ({
    id: kettle,
    name: kettle,
    litres,
    netHeatW: litres * 200,
    piecesPerDip: [
      { upToMm: 125, pieces: 26 },
      { upToMm: 180, pieces: 20 },
    ],
    handlingSeconds: 30,
    cleaningMinutes: 15,
  });
  const list = (count: number, stem: string): string[] => Array.from({ length: count }, (_, i) => `${stem}-${i + 1}`);
  return {
    id,
    name: `Commissary ${id.split("-")[1]}`,
    timeZone: ZONE,
    altitudeM: 20,
    roomTempC: 21,
    energyPricePerKwh: 0.24,
    // biome-ignore format: one shift a line is a table
    crew: [
      { id: "evening", name: "Evening crew", skills: ["mix", "bench"], shifts: [{ days: DAYS, from: "12:30", to: "20:30", heads: evening, breaks: breaks(evening, "16:00", "16:30", "17:00") }] },
      { id: "night", name: "Night crew", skills: ["bench", "boil", "oven", "pack"], shifts: [{ days: DAYS, from: "00:30", to: "09:30", heads: night, breaks: breaks(night, "04:00", "04:30", "05:00") }, { days: DAYS, from: "09:30", to: "11:30", heads: overtime, overtimeCostPerHour: 9.5 }] },
      { id: "morning", name: "Morning mixers", skills: ["mix", "bench"], shifts: [{ days: DAYS, from: "00:30", to: "08:30", heads: 1 }] },
    ],
    mixers: [
      ...list(Math.max(1, Math.ceil(mixing / (320 * share))), "spiral").map((mixer) => ({
        id: mixer,
        name: `Mixer ${mixer}`,
        limits: [
          { fromAbsorptionPercent: 40, maxDoughG: 48000 },
          { fromAbsorptionPercent: 56, maxDoughG: 60000 },
          { fromAbsorptionPercent: 66, maxDoughG: 72000 },
        ],
        minDoughG: 10000,
        cleaningMinutes: 15,
      })),
      {
        id: "planetary",
        name: "Planetary mixer",
        limits: [{ fromAbsorptionPercent: 0, maxDoughG: 22000 }],
        minDoughG: 3000,
        cleaningMinutes: 10,
      },
    ],
    fridges: fridgesOf(pansOvernight * 1.3, tubs, Math.ceil(totalG / 1000) * 2.2 + 1500),
    benches: list(Math.max(1, Math.ceil(Math.max(night, evening) / 4)), "bench").map((bench) => ({
      id: bench,
      name: `Bench ${bench}`,
      places: 4,
      cleaningMinutes: 5,
    })),
    proofers: [{ id: "proofer-1", name: "Proofing room", tempC: 30, positions: proofing }],
    kettles: [
      ...list(kettles(false), "kettle").map((kettle) => bath(kettle, 90)),
      ...list(kettles(true), "lye-bath").map((kettle) => bath(kettle, 60)),
    ],
    ovens: ovensOf(decks, 3, true),
    racks: [{ id: "rack-row", name: "Rack row", positions: cooling }],
    pans: [
      { panType: "sheet", count: Math.max(40, Math.ceil(pans * 1.1)) },
      { panType: "board", count: Math.max(24, Math.ceil(pans * 0.3)) },
    ],
    tubs: [{ tubType: "tub", count: tubs }],
  };
}

function shop(rng: Rng, id: string, work: readonly Work[], share: number): Site {
  const { decks, night: bakers, proofing, cooling } = sizes(work, share);
  const heads = Math.max(2, bakers);
  const pans = Math.ceil(sum(work, ({ wanted, share: part }) => part * pansOf(wanted)));
  return {
    id,
    name: `Shop ${id.split("-")[1]}`,
    timeZone: ZONE,
    roomTempC: 20,
    energyPricePerKwh: 0.29,
    // biome-ignore format: one shift a line is a table
    crew: [{ id: "bakers", name: "Shop bakers", skills: ["mix", "bench", "boil", "oven", "pack"], shifts: [{ days: DAYS, from: "03:00", to: "11:30", heads, breaks: breaks(heads, "07:30", "08:00", "08:30") }] }],
    mixers:
      rng.below(3) === 0
        ? [
            {
              id: "mixer-1",
              name: "Planetary mixer",
              limits: [{ fromAbsorptionPercent: 0, maxDoughG: 16000 }],
              minDoughG: 3000,
              cleaningMinutes: 10,
            },
          ]
        : [],
    fridges: fridgesOf(pans, pans / 2, 1500 + 40 * pans),
    benches: [{ id: "bench-1", name: "Shop bench", places: heads, cleaningMinutes: 5 }],
    proofers: [{ id: "proofer-1", name: "Proofer", tempC: 30, positions: proofing }],
    kettles: [],
    ovens: ovensOf(Math.max(2, decks), 2, false),
    racks: [{ id: "rack-1", name: "Shop rack", positions: cooling }],
    pans: [
      { panType: "sheet", count: Math.max(24, pans) },
      { panType: "board", count: 8 },
    ],
    tubs: [{ tubType: "tub", count: 12 }],
  };
}

function clock(minute: number): string {
  const two = (n: number): string => String(n).padStart(2, "0");
  return `${two(Math.floor(minute / 60))}:${two(minute % 60)}`;
}

/** Evening run with chilled goods, then one run before each round. */
function vanRuns(rng: Rng, from: string, to: string, positions: number, coldToo: boolean): Network["vanRuns"] {
  const travelMinutes = 15 + 5 * rng.below(6);
  const shift = 5 * rng.below(4);
  const times: (readonly [string, number])[] = [
    ["first", 290],
    ["second", 390],
    ["late", 530],
  ];
  if (coldToo) times.push(["cold", 1220]);
  return times.map(([name, departs]) => ({
    id: `${name}-${from}-${to}`,
    name: `${name} ${from} to ${to}`,
    from,
    to,
    days: DAYS,
    departs: clock(departs + shift),
    travelMinutes,
    positions,
    chilled: name === "cold",
    loadMinutes: 10,
    unloadMinutes: 10,
    cost: 10 + Math.round(travelMinutes / 5),
  }));
}

export interface Places {
  readonly commissaries: readonly string[];
  /** Shops with the commissary that serves each. */
  readonly shops: readonly { readonly id: string; readonly commissary: string; readonly second: string | null }[];
}

/** Builds sites and van runs for what is wanted; `share` is how busy the night's stations are to be, 0..1. */
export function benchNetwork(rng: Rng, places: Places, wanted: readonly Wanted[], share: number): Network {
  const of = (site: string): Wanted[] => wanted.filter((item) => item.site === site);
  const shopPart = (product: Product): number => (ridesRaw(product) ? 0.5 : 0);
  const sites = places.commissaries.map((id) => {
    const own = of(id).map((item) => ({ wanted: item, bakedBy: item.due - AFTER_BAKE, share: 1 }));
    const served = places.shops
      .filter((place) => place.commissary === id)
      .flatMap((place) => of(place.id))
      .map((item) => ({
        wanted: item,
        bakedBy: item.due - AFTER_BAKE - VAN_MINUTES,
        share: 1 - shopPart(item.product),
      }));
    return commissary(id, [...own, ...served], share);
  });
  const shops = places.shops.map(({ id }) => {
    const work = of(id)
      .map((item) => ({ wanted: item, bakedBy: item.due - AFTER_BAKE, share: shopPart(item.product) }))
      .filter((item) => item.share > 0);
    return shop(rng, id, work, share);
  });
  const runs = places.shops.flatMap(({ id, commissary: from, second }) => {
    const pans = of(id).reduce((total, item) => total + pansOf(item), 0);
    const positions = Math.max(24, Math.ceil(pans * 0.5));
    return [
      ...vanRuns(rng, from, id, positions, true),
      ...(second === null ? [] : vanRuns(rng, second, id, Math.ceil(positions / 2), false)),
    ];
  });
  return {
    format: "network/1",
    name: "Bench bakeries",
    panTypes: PAN_TYPES,
    tubTypes: [TUB],
    sites: [...sites, ...shops],
    vanRuns: runs,
  };
}
