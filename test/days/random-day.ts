import type {
  BoilStep,
  CrewGroup,
  DayDocuments,
  Deck,
  Dough,
  HandOver,
  Happening,
  OrderLine,
  Product,
  Route,
  Site,
  Step,
  VanRun,
  Weekday,
} from "../../schemas/index.js";
import { checkDay } from "../../solver/check/index.js";
import { createRng, type Rng } from "../../solver/rng.js";
import { withTradeFeatures } from "./random-trade.js";

/** Whole valid days, drawn by seed: every feature of the documents occurs, often tightly, sometimes impossibly. */
export type DaySize = "tiny" | "small";

const DAYS: Weekday[] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
/** Zone and the evening on which the day begins: clocks change in some of the nights. */
const NIGHTS: readonly (readonly [string, string, string])[] = [
  ["Europe/Dublin", "2026-11-26", "2026-11-27"],
  ["Europe/Dublin", "2026-03-28", "2026-03-29"],
  ["Europe/Dublin", "2026-10-24", "2026-10-25"],
  ["America/New_York", "2026-03-07", "2026-03-08"],
  ["America/New_York", "2026-10-31", "2026-11-01"],
  ["Australia/Lord_Howe", "2026-04-04", "2026-04-05"],
  ["Asia/Kolkata", "2026-06-11", "2026-06-12"],
];

class DayMaker {
  private readonly rng: Rng;
  private readonly size: DaySize;

  private readonly seed: number;

  constructor(seed: number, size: DaySize) {
    this.seed = seed;
    this.rng = createRng(seed);
    this.size = size;
  }

  private int(low: number, high: number): number {
    return low + this.rng.below(high - low + 1);
  }

  private chance(percent: number): boolean {
    return this.rng.below(100) < percent;
  }

  private pick<T>(items: readonly T[]): T {
    return items[this.rng.below(items.length)]!;
  }

  private clock(hour: number, minute = 0): string {
    return `${String(hour % 24).padStart(2, "0")}:${String(minute).padStart(2, "0")}`;
  }

  make(): DayDocuments {
    const [zone, eve, date] = this.pick(NIGHTS);
    const siteCount = this.size === "tiny" ? this.int(1, 2) : this.int(1, 3);
    const sites = Array.from({ length: siteCount }, (_, s) => this.site(s, zone));
    const vanRuns = this.vanRuns(sites);
    const doughs = Array.from({ length: this.size === "tiny" ? 1 : this.int(1, 3) }, (_, d) => this.dough(d));
    const products = Array.from({ length: this.size === "tiny" ? this.int(1, 2) : this.int(2, 5) }, (_, p) =>
      this.product(p, doughs),
    );
    const lines = Array.from({ length: this.size === "tiny" ? this.int(1, 2) : this.int(2, 7) }, (_, l) =>
      this.line(l, products, sites, date),
    );
    const day: DayDocuments = {
      network: {
        format: "network/1",
        name: "Random network",
        panTypes: [
          { id: "sheet", name: "Sheet", widthMm: 600, depthMm: 400, heightMm: 25, rimMm: this.int(0, 15), massG: 1200 },
          { id: "half", name: "Half sheet", widthMm: 457, depthMm: 330, heightMm: 25, rimMm: 10, massG: 800 },
        ],
        tubTypes: [
          {
            id: "tub",
            name: "Tub",
            widthMm: 600,
            depthMm: 400,
            heightMm: 120,
            innerWidthMm: 560,
            innerDepthMm: 360,
            maxDoughG: this.int(4, 12) * 1000,
            massG: 1500,
            vanPositions: this.int(1, 2),
          },
        ],
        sites,
        vanRuns,
      },
      catalogue: {
        format: "catalogue/1",
        name: "Random catalogue",
        allergens: [
          { id: "gluten", name: "Gluten" },
          { id: "milk", name: "Milk" },
          { id: "sesame", name: "Sesame" },
        ],
        ingredients: [
          { id: "flour", name: "Flour", allergens: ["gluten"] },
          { id: "water", name: "Water" },
          { id: "butter", name: "Butter", allergens: ["milk"] },
          { id: "seeds", name: "Seeds", allergens: ["sesame"] },
        ],
        doughs,
        products,
      },
      orders: { format: "orders/1", lines },
      happenings: { format: "happenings/1", happenings: this.happenings(sites, eve, date) },
      settings: {
        format: "settings/1",
        name: "Random day",
        window: { from: `${eve}T${this.clock(this.int(11, 15))}`, to: `${date}T${this.clock(this.int(13, 16))}` },
        maxPansPerLoad: this.int(1, 4),
        freshWithinMinutes: this.int(6, 14) * 60,
        ...(this.chance(50)
          ? { weights: { setpointChange: this.int(0, 5), earlyPerPieceHour: 0.02, freshForMinutes: this.int(30, 120) } }
          : {}),
      },
    };
    return withoutUnmakeable(withTradeFeatures(day, this.seed));
  }

  private site(s: number, timeZone: string): Site {
    const id = `site-${s + 1}`;
    const isFull = s === 0 || this.chance(60);
    const decks = (count: number): Deck[] =>
      Array.from({ length: count }, (_, d) => ({
        id: `deck-${d + 1}`,
        widthMm: this.pick([650, 900, 1250]),
        depthMm: this.pick([450, 820]),
        clearHeightMm: 160,
        maxTempC: this.pick([250, 280]),
        coldStartMinutes: this.int(15, 75),
        heatUpCPerMinute: this.int(10, 30) / 10,
        coolDownCPerMinute: this.int(8, 20) / 10,
        doorRecoveryMinutes: this.int(0, 4),
        powerKw: this.int(3, 8),
        gapMm: this.int(0, 10),
      }));
    return {
      id,
      name: `Site ${s + 1}`,
      timeZone,
      altitudeM: this.int(0, 1200),
      roomTempC: 21,
      energyPricePerKwh: this.int(10, 40) / 100,
      crew: this.crew(),
      mixers: isFull
        ? Array.from({ length: this.int(1, 2) }, (_, m) => ({
            id: `mixer-${m + 1}`,
            name: `Mixer ${m + 1}`,
            limits: [
              { fromAbsorptionPercent: 0, maxDoughG: this.int(8, 20) * 1000 },
              { fromAbsorptionPercent: 58, maxDoughG: this.int(20, 40) * 1000 },
            ],
            minDoughG: this.int(0, 3) * 1000,
            cleaningMinutes: this.pick([0, 10, 15]),
          }))
        : [],
      fridges: Array.from({ length: this.int(1, 2) }, (_, f) => ({
        id: `fridge-${f + 1}`,
        name: `Fridge ${f + 1}`,
        airTempC: this.int(2, 5),
        filmWPerM2K: this.int(8, 15),
        heatRemovalW: this.int(3, 30) * 100,
        gapMm: this.int(0, 10),
        shelves: Array.from({ length: this.int(1, 4) }, (_, h) => ({
          id: `shelf-${h + 1}`,
          widthMm: this.pick([700, 1300]),
          depthMm: this.pick([480, 700]),
          clearHeightMm: this.pick([130, 200]),
          maxMassG: this.int(20, 80) * 1000,
        })),
      })),
      benches: Array.from({ length: this.int(1, 2) }, (_, b) => ({
        id: `bench-${b + 1}`,
        name: `Bench ${b + 1}`,
        places: this.int(1, 3),
        cleaningMinutes: this.pick([0, 0, 5]),
      })),
      proofers: [{ id: "proofer-1", name: "Proofer", tempC: 30, positions: this.int(4, 16) }],
      kettles: isFull
        ? [
            {
              id: "kettle-1",
              name: "Kettle",
              litres: this.int(20, 60),
              netHeatW: this.int(4, 15) * 1000,
              piecesPerDip: [{ upToMm: 180, pieces: this.int(6, 24) }],
              handlingSeconds: this.int(10, 40),
              cleaningMinutes: this.pick([0, 10]),
              ...(this.chance(30) ? { heatUpMinutes: this.int(10, 60) } : {}),
              ...(this.chance(30) ? { recoverySeconds: this.int(0, 60) } : {}),
            },
          ]
        : [],
      ovens: [
        { id: "oven-1", name: "Oven 1", sharedThermostat: this.chance(40), decks: decks(this.int(1, 3)) },
        ...(this.chance(30) ? [{ id: "oven-2", name: "Oven 2", sharedThermostat: false, decks: decks(1) }] : []),
      ],
      racks: Array.from({ length: this.int(1, 2) }, (_, r) => ({
        id: `rack-${r + 1}`,
        name: `Rack ${r + 1}`,
        positions: this.int(4, 16),
      })),
      pans: [
        { panType: "sheet", count: this.int(4, 20) },
        { panType: "half", count: this.int(4, 20) },
      ],
      tubs: [{ tubType: "tub", count: this.int(2, 10) }],
    };
  }

  private crew(): CrewGroup[] {
    const all = ["mix", "bench", "boil", "oven", "pack"];
    const groups: CrewGroup[] = [
      {
        id: "evening",
        name: "Evening",
        skills: ["mix", "bench"],
        shifts: [
          {
            days: DAYS,
            from: "12:00",
            to: "20:00",
            heads: this.int(1, 3),
            breaks: [{ from: "15:30", to: "16:00", heads: 1 }],
          },
        ],
      },
      {
        id: "night",
        name: "Night",
        skills: all,
        shifts: [
          {
            days: DAYS,
            from: this.pick(["22:00", "00:30", "02:00"]),
            to: "10:00",
            heads: this.int(1, 4),
            ...(this.chance(50) ? { breaks: [{ from: "05:00", to: "05:30" }] } : {}),
          },
          ...(this.chance(40)
            ? [{ days: DAYS, from: "09:30", to: "13:00", heads: 1, overtimeCostPerHour: this.int(5, 15) }]
            : []),
        ],
      },
    ];
    return groups;
  }

  private vanRuns(sites: readonly Site[]): VanRun[] {
    const runs: VanRun[] = [];
    for (let s = 1; s < sites.length; s++) {
      for (const [name, hour] of [
        ["cold", this.int(19, 22)],
        ["first", this.int(4, 6)],
        ["second", this.int(7, 9)],
      ] as const) {
        if (this.chance(20)) continue;
        runs.push({
          id: `${name}-${s + 1}`,
          name: `${name} ${s + 1}`,
          from: "site-1",
          to: sites[s]!.id,
          days: DAYS,
          departs: this.clock(hour, this.int(0, 59)),
          travelMinutes: this.int(10, 50),
          positions: this.int(2, 12),
          chilled: name === "cold" || this.chance(30),
          loadMinutes: this.int(0, 15),
          unloadMinutes: this.int(0, 15),
          cost: this.int(5, 20),
        });
      }
    }
    return runs;
  }

  private dough(d: number): Dough {
    const butter = this.chance(40);
    return {
      id: `dough-${d + 1}`,
      name: `Dough ${d + 1}`,
      formula: [
        { ingredient: "flour", bakersPercent: 100, flour: true },
        { ingredient: "water", bakersPercent: this.int(50, 70) },
        ...(butter ? [{ ingredient: "butter", bakersPercent: 10 }] : []),
      ],
      absorptionPercent: this.int(50, 70),
      mixMinutes: this.int(8, 20),
      mixSkill: "mix",
      ...(this.chance(15) ? { mixHeads: this.int(0, 2) } : {}),
      doughTempC: this.int(22, 27),
      tubType: "tub",
      ...(this.chance(70) ? { chill: { toTempC: this.int(9, 12), withinMinutes: this.int(4, 8) * 60 } } : {}),
      ...(this.chance(70) ? { maxOutOfColdMinutes: this.int(15, 90) } : {}),
      ...(this.chance(40) ? { holdingLimit: { warmMinutes: this.int(90, 300), label: "Site plan" } } : {}),
      ...(this.chance(20) ? { minBatchG: this.int(1, 5) * 1000 } : {}),
    };
  }

  private product(p: number, doughs: readonly Dough[]): Product {
    const dough = this.pick(doughs);
    const isRound = this.chance(60);
    const boils = this.chance(35);
    const tempC = this.pick([190, 210, 230, 245]);
    const routes: Route[] = [];
    const kinds = this.pick([["tubs"], ["pans"], ["same-day"], ["tubs", "pans"], ["tubs", "same-day"]]);
    for (const kind of kinds) routes.push(this.route(kind, boils, tempC));
    return {
      id: `product-${p + 1}`,
      name: `Product ${p + 1}`,
      dough: dough.id,
      pieceG: this.int(40, 400),
      ...(this.chance(50) ? { dividerLossPercent: this.int(0, 30) / 10 } : {}),
      shape: isRound
        ? { form: "round", diameterMm: this.int(60, 150) }
        : { form: "rectangular", widthMm: this.int(60, 170), depthMm: this.int(50, 110) },
      heightMm: this.int(20, 110),
      gapMm: this.int(5, 30),
      edgeMm: this.int(0, 15),
      panType: this.pick(["sheet", "half"]),
      ...(this.chance(15) ? { piecesPerPan: this.int(4, 12) } : {}),
      ...(this.chance(35) ? { toppings: [{ ingredient: "seeds", gPerPiece: 3 }] } : {}),
      routes,
    };
  }

  private route(kind: string, boils: boolean, tempC: number): Route {
    const span = (does: "rest" | "retard" | "temper" | "proof" | "cool", least: number, slack: number): Step => ({
      does,
      leastMinutes: least,
      greatestMinutes: least + this.rng.below(slack + 1),
      ...(does === "proof" && this.chance(30) ? { tempC: 30 } : {}),
    });
    const wait = (slack: number) => ({ waitAfter: { leastMinutes: 0, greatestMinutes: this.rng.below(slack + 1) } });
    const steps: Step[] = [];
    const shape: Step = {
      does: "shape",
      fixedMinutes: this.int(0, 4),
      secondsPerPiece: this.int(2, 20),
      secondsPerPan: this.int(0, 30),
      heads: this.chance(15) ? 2 : 1,
      skill: "bench",
      ...(this.chance(30) ? wait(20) : {}),
    };
    if (this.chance(40) || kind === "same-day") steps.push(span("rest", this.int(0, 40), 60));
    if (kind === "tubs")
      steps.push(span("retard", this.int(3, 11) * 60, 600), ...(this.chance(70) ? [span("temper", 20, 60)] : []));
    steps.push(shape);
    if (kind === "pans")
      steps.push(span("retard", this.int(3, 11) * 60, 600), ...(this.chance(50) ? [span("temper", 10, 50)] : []));
    if (kind !== "pans" || this.chance(50)) steps.push(span("proof", this.int(15, 45), 50));
    if (boils) {
      const boil: BoilStep = {
        does: "boil",
        secondsPerSide: this.int(15, 60),
        sides: this.chance(50) ? 2 : 1,
        heads: 1,
        skill: "boil",
        waitAfter: { leastMinutes: 0, greatestMinutes: this.int(0, 10) },
        ...(this.chance(30) ? { lyePercent: 3 } : {}),
      };
      steps.push(boil);
    }
    if (this.chance(25)) steps.push({ does: "top", secondsPerPiece: 2, heads: 1, skill: "bench", ...wait(8) });
    steps.push({
      does: "bake",
      tempC,
      minutes: this.int(10, 40),
      ...(this.chance(50) ? { attendMinutes: this.int(1, 5), heads: 1, skill: "oven" } : {}),
    });
    steps.push(span("cool", this.int(5, 40), 180));
    if (this.chance(30)) steps.push({ does: "pack", fixedMinutes: 2, secondsPerPiece: 2, heads: 1, skill: "pack" });
    const handOvers: HandOver[] = [];
    if (this.chance(70)) handOvers.push("baked");
    if (kind !== "same-day" && this.chance(60)) handOvers.push(kind === "tubs" ? "tubs" : "pans");
    return { id: kind, name: `As ${kind}`, handOvers, steps };
  }

  private line(l: number, products: readonly Product[], sites: readonly Site[], date: string): OrderLine {
    const site = this.pick(sites);
    return {
      id: `line-${l + 1}`,
      product: this.pick(products).id,
      pieces: this.size === "tiny" ? this.int(4, 30) : this.int(6, 70),
      site: site.id,
      due: `${date}T${this.clock(this.int(5, 12), this.int(0, 59))}`,
      ...(this.chance(40) ? { priority: this.int(1, 6) / 2 } : {}),
      ...(this.chance(25) ? { freshWithinMinutes: this.int(2, 8) * 60 } : {}),
      ...(this.chance(10) ? { madeAt: this.pick(sites).id } : {}),
    };
  }

  private happenings(sites: readonly Site[], eve: string, date: string): Happening[] {
    const found: Happening[] = [];
    if (this.chance(40)) {
      const site = this.pick(sites);
      const oven = this.pick(site.ovens);
      const units = [
        `${site.id}/${oven.id}`,
        `${site.id}/${oven.id}/${this.pick(oven.decks).id}`,
        `${site.id}/${site.fridges[0]!.id}/shelf-1`,
        `${site.id}/${this.pick(site.racks).id}`,
        ...site.mixers.map((mixer) => `${site.id}/${mixer.id}`),
        ...site.kettles.map((kettle) => `${site.id}/${kettle.id}`),
      ];
      const open = this.chance(20);
      found.push({
        kind: "out-of-service",
        unit: this.pick(units),
        from: this.chance(30) ? `${eve}T16:00` : `${date}T05:15`,
        ...(open ? {} : { to: `${date}T${this.clock(this.int(6, 9), 30)}` }),
      });
    }
    if (this.chance(25)) {
      found.push({
        kind: "absent",
        site: this.pick(sites).id,
        crew: "night",
        heads: 1,
        from: `${date}T05:00`,
        to: `${date}T09:00`,
      });
    }
    return found;
  }
}

/** Drops the lines that no site can make: the documents must be valid, not the wishes. */
function withoutUnmakeable(day: DayDocuments): DayDocuments {
  let lines = day.orders.lines;
  let products = day.catalogue.products;
  for (let i = 0; i < 12; i++) {
    const candidate = { ...day, orders: { ...day.orders, lines }, catalogue: { ...day.catalogue, products } };
    const issues = checkDay(candidate);
    if (issues.length === 0) return candidate;
    const badLines = new Set<number>();
    const badProducts = new Set<string>();
    for (const { document, pointer } of issues) {
      const [, list, index] = pointer.split("/");
      if (document === "orders" && list === "lines") {
        const bad = lines[Number(index)]!;
        lines.forEach((line, l) => {
          if (line.product === bad.product && line.site === bad.site && line.madeAt === bad.madeAt) badLines.add(l);
        });
      } else if (document === "catalogue" && list === "products") badProducts.add(products[Number(index)]!.id);
      else throw new Error(`the generator made a broken day: ${JSON.stringify(issues)}`);
    }
    lines = lines.filter((line, l) => !badLines.has(l) && !badProducts.has(line.product));
    products = products.filter((product) => !badProducts.has(product.id));
    if (products.length === 0)
      return {
        ...candidate,
        orders: { ...day.orders, lines: [] },
        catalogue: { ...day.catalogue, products: day.catalogue.products },
      };
  }
  throw new Error("the generator cannot mend its day");
}

export function randomDay(seed: number, size: DaySize): DayDocuments {
  return new DayMaker(seed, size).make();
}
